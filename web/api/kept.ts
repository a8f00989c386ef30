// The last answers of the program, kept in the browser so that a page which is opened again without
// a network shows what it showed last. Only answers that are asked for by name are kept; the oldest
// go first. A browser without such a store keeps nothing, and everything else works.
const most = 120;

interface Row {
  key: string;
  text: string;
  at: number;
}

let opened: Promise<IDBDatabase | undefined> | undefined;

function database(): Promise<IDBDatabase | undefined> {
  opened ??= new Promise((answer) => {
    if (globalThis.indexedDB === undefined) return answer(undefined);
    let asked: IDBOpenDBRequest;
    try {
      asked = indexedDB.open('roomwright', 1);
    } catch {
      return answer(undefined);
    }
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore('answers', { keyPath: 'key' }).createIndex('at', 'at');
      asked.result.createObjectStore('files', { keyPath: 'token' });
    };
    asked.onsuccess = () => answer(asked.result);
    asked.onerror = () => answer(undefined);
  });
  return opened;
}

/** One request of one store; undefined where the browser has none. */
export async function in_store<T>(name: 'answers' | 'files', way: IDBTransactionMode, ask: (store: IDBObjectStore) => IDBRequest<T>): Promise<T | undefined> {
  const base = await database();
  if (!base) return undefined;
  return new Promise((answer) => {
    try {
      const asked = ask(base.transaction(name, way).objectStore(name));
      asked.onsuccess = () => answer(asked.result);
      asked.onerror = () => answer(undefined);
    } catch {
      answer(undefined);
    }
  });
}

let writes = 0;
export async function keep(key: string, text: string): Promise<void> {
  const row: Row = { key, text, at: Date.now() };
  await in_store('answers', 'readwrite', (store) => store.put(row));
  if (++writes % 20 === 0) await let_old_go();
}
export async function kept(key: string): Promise<string | undefined> {
  return ((await in_store('answers', 'readonly', (store) => store.get(key))) as Row | undefined)?.text;
}
async function let_old_go(): Promise<void> {
  const keys = (await in_store('answers', 'readonly', (store) => store.index('at').getAllKeys())) ?? [];
  for (const key of keys.slice(0, Math.max(0, keys.length - most))) await in_store('answers', 'readwrite', (store) => store.delete(key));
}

/** Whoever may no longer ask shall find nothing here either. */
export async function forget_answers(): Promise<void> {
  await in_store('answers', 'readwrite', (store) => store.clear());
}
