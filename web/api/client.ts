// The only code that fetches. Every call answers with what the contract says or with a Refusal;
// where the network is gone, with a Refusal whose status is 0.
import type {
  Appended, AppendRequest, Created, Document, DocumentHead, DraftPart, DraftRequest, EditsRequest, Entry, Errors, FileNote, JobHead,
  Library, NewJob, Paper, Saved, State, Step, StoredFile, UndoRequest,
} from './types';

export class Refusal extends Error {
  /** status: of HTTP; 0 where nothing answered. answer: the body, where it is JSON. */
  constructor(readonly status: number, readonly answer: unknown, message: string) {
    super(message);
  }
  get errors(): Errors['errors'] {
    const body = this.answer as Partial<Errors> | undefined;
    return Array.isArray(body?.errors) ? body.errors : [];
  }
}

/** A word for one write, so that sending it again changes nothing. Works without https. */
export function fresh_token(): string {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (one) => one.toString(16).padStart(2, '0')).join('');
}

async function ask(path: string, options: RequestInit = {}): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, options);
  } catch (wrong) {
    if (options.signal?.aborted) throw wrong;
    throw new Refusal(0, undefined, 'The program does not answer.');
  }
  if (response.ok) return response;
  const answer: unknown = await response.json().catch(() => undefined);
  const told = (answer as Partial<Errors> | undefined)?.errors?.[0];
  throw new Refusal(response.status, answer, told ? `${told.where} ${told.what}`.trim() : `refused (${response.status})`);
}

async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await (await ask(path, signal ? { signal } : {})).json()) as T;
}
async function send<T>(path: string, body: unknown, method = 'POST'): Promise<T> {
  const headers = { 'content-type': 'application/json' };
  return (await (await ask(path, { method, headers, body: JSON.stringify(body) })).json()) as T;
}
const job_path = (id: string): string => `/api/jobs/${encodeURIComponent(id)}`;
const document_path = (id: string): string => `/api/documents/${encodeURIComponent(id)}`;

export const get_state = (): Promise<State> => get('/api/state');
export const get_library = (): Promise<Library> => get('/api/library');
export const get_jobs = (): Promise<JobHead[]> => get('/api/jobs');
export const create_job = (job: NewJob): Promise<Created> => send('/api/jobs', job);
export const get_documents = (kind: string): Promise<DocumentHead[]> => get(`/api/documents?kind=${kind}`);
export const get_document = (id: string, version = 0): Promise<Document> => get(`${document_path(id)}?version=${version}`);
export const post_edits = (id: string, edits: EditsRequest): Promise<Saved> => send(`${document_path(id)}/edits`, edits);
export const post_undo = (id: string, way: 'undo' | 'redo', body: UndoRequest): Promise<Saved> =>
  send(`${document_path(id)}/${way}`, body);
export const get_history = (id: string, after = 0): Promise<Step[]> => get(`${document_path(id)}/history?after=${after}`);
export const get_papers = (id: string, version: number): Promise<Paper[]> => get(`${job_path(id)}/papers?version=${version}`);
export const paper_address = (id: string, name: string, version: number): string =>
  `${job_path(id)}/papers/${encodeURIComponent(name)}?version=${version}`;
export const export_address = (id: string): string => `${job_path(id)}/export`;
export const file_address = (id: number): string => `/api/files/${id}`;
export const get_files = (document: string): Promise<StoredFile[]> =>
  get(`/api/files?document=${encodeURIComponent(document)}`);

export async function import_job(name: string, text: string): Promise<Created> {
  const headers = { 'content-type': 'application/toml' };
  const answer = await ask(`/api/jobs/import?name=${encodeURIComponent(name)}`, { method: 'POST', headers, body: text });
  return (await answer.json()) as Created;
}

export async function put_file(note: FileNote, bytes: Blob, token: string): Promise<StoredFile> {
  const query = new URLSearchParams({ ...note, token });
  const headers = { 'content-type': 'application/octet-stream' };
  return (await (await ask(`/api/files?${query}`, { method: 'POST', headers, body: bytes })).json()) as StoredFile;
}

export async function get_stage<T>(id: string, stage: string, version: number, signal: AbortSignal): Promise<T> {
  const answer = await get<{ result: T }>(`${job_path(id)}/stages/${stage}?version=${version}`, signal);
  return answer.result;
}

export const get_entries = (journal: string, after: number, document: string): Promise<Entry[]> =>
  get(`/api/journals/${journal}?after=${after}&document=${encodeURIComponent(document)}`);
export const append_entries = (journal: string, request: AppendRequest): Promise<Appended> =>
  send(`/api/journals/${journal}`, request);

/** Calls `take` with each part as it comes; ends with the stream, or when the signal says so. */
export async function draft(
  id: string, request: DraftRequest, take: (part: DraftPart) => void, signal: AbortSignal,
): Promise<void> {
  const headers = { 'content-type': 'application/json' };
  const answer = await ask(`${job_path(id)}/draft`, { method: 'POST', headers, body: JSON.stringify(request), signal });
  const reader = answer.body!.pipeThrough(new TextDecoderStream()).getReader();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    const lines = (rest + value).split('\n');
    rest = lines.pop()!;
    for (const line of lines) if (line) take(JSON.parse(line) as DraftPart);
  }
}
