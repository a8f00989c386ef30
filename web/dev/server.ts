// A stand-in for the program's own server, for development and page tests only: it keeps documents
// in memory, runs the `roomwright` command for the stages, and answers by api/openapi.json. Nothing
// is stored, nobody is asked who they are, and TOML comments are lost: never ship it.
//
// Built by `npm run stand-in`. Usage: node build/web/stand-in/server.js [--port N] [--demo]
// Environment: ROOMWRIGHT the program (build/check/roomwright); ROOMWRIGHT_PAGE the built page.
import { execFile, type ChildProcess } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import { tmpdir } from 'node:os';
import { extname, join, resolve } from 'node:path';
import { parse, stringify } from 'smol-toml';
import type {
  Change, Complaint, Device, DraftPart, DraftRequest, EditsRequest, JobHead, NewEntry, NewJob, PairingCode, Saved, StockLine, StoredFile,
} from '../api/types';
import { apply, put, type Json, type Tree } from '../job/edits';
import { ticked } from '../job/ticks';
import { Memory, Refused, complain, now } from './memory';

const root = resolve(process.env.ROOMWRIGHT_SOURCE ?? '..');
const program = process.env.ROOMWRIGHT ?? join(root, 'build/check/roomwright');
const page = process.env.ROOMWRIGHT_PAGE ?? join(root, 'build/web/dist');
const work = mkdtempSync(join(tmpdir(), 'roomwright-stand-in-'));
const kept = join(root, 'build/web/kept');
mkdirSync(kept, { recursive: true });

const streams = new Set<ServerResponse>();
const write_event = (stream: ServerResponse, change: Change): void =>
  void stream.write(`id: ${change.sequence}\nevent: change\ndata: ${JSON.stringify(change)}\n\n`);
const memory = new Memory((change) => streams.forEach((stream) => write_event(stream, change)));
const { documents } = memory;

// ---- stages -------------------------------------------------------------------------------------

let turn: Promise<unknown> = Promise.resolve();
/** One run of the program at a time, so that a small machine stays usable. */
function in_turn<T>(run: () => Promise<T>): Promise<T> {
  const mine = turn.then(run, run);
  turn = mine.catch(() => undefined);
  return mine;
}

function write_job(tree: Tree): string {
  const shop = documents.get(String(tree.shop));
  const text = stringify(tree);
  const shop_text = shop ? stringify(shop.trees.at(-1)!) : '';
  const folder = join(work, createHash('sha256').update(text + shop_text).digest('hex').slice(0, 24));
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, 'job.toml'), text);
  if (shop) writeFileSync(join(folder, String(tree.shop)), shop_text);
  return folder;
}

function run_program(args: string[], started?: (child: ChildProcess) => void): Promise<{ code: number; out: string; wrong: string }> {
  return new Promise((answer) => {
    const child = execFile(program, args, { maxBuffer: 64 << 20 }, (fault, out, wrong) =>
      answer({ code: fault ? (typeof fault.code === 'number' ? fault.code : 1) : 0, out, wrong }),
    );
    started?.(child);
  });
}

function complaints(text: string): Complaint[] {
  try {
    return ((JSON.parse(text) as { errors: Complaint[] }).errors).map((one) => ({
      ...one, where: one.where.replace(/^job file: /, ''),
    }));
  } catch {
    return [{ where: '', what: text.trim() || 'the program ended without a word', got: null, remedy: '' }];
  }
}

async function stage(id: string, name: string, version: number): Promise<unknown> {
  const { trees } = memory.document(id);
  const tree = trees[(version || trees.length) - 1];
  if (!tree) throw complain(404, id, `has no version ${version}`);
  const folder = write_job(tree);
  const remembered = join(kept, `${folder.split('/').pop()}-${name}-${statSync(program).mtimeMs.toFixed(0)}.json`);
  if (existsSync(remembered)) return JSON.parse(readFileSync(remembered, 'utf8'));
  return in_turn(async () => {
    if (version !== 0 && version !== trees.length) throw complain(499, id, 'has a newer version');
    const { code, out, wrong } = await run_program([name, '--json', join(folder, 'job.toml')]);
    if (!out.trim().startsWith('{') || code === 2) throw new Refused(code === 2 ? 422 : 500, { errors: complaints(wrong) });
    writeFileSync(remembered, out);
    return JSON.parse(out) as unknown;
  });
}

async function pack_folder(id: string, version: number): Promise<string> {
  const { trees } = memory.document(id);
  const folder = write_job(trees[(version || trees.length) - 1]!);
  const out = join(folder, 'pack');
  if (!existsSync(join(out, 'job.json'))) {
    const ran = await in_turn(() => run_program(['pack', join(folder, 'job.toml'), '--out', out]));
    if (ran.code === 2) throw new Refused(422, { errors: complaints(ran.wrong) });
  }
  return out;
}

const drafts = new Map<string, ChildProcess>();
async function draft(id: string, request: DraftRequest, response: ServerResponse): Promise<void> {
  const { trees } = memory.document(id);
  const folder = write_job(apply(trees[request.base - 1]!, request.edits));
  response.writeHead(200, { 'content-type': 'application/x-ndjson' });
  drafts.get(request.page)?.kill();
  const ended = run_program(['treatment', '--json', join(folder, 'job.toml')], (child) => {
    drafts.set(request.page, child);
    response.on('close', () => child.kill());
  });
  const { out, wrong } = await ended;
  const write = (part: DraftPart): void => void response.write(`${JSON.stringify(part)}\n`);
  const { number } = request;
  if (out.startsWith('{')) {
    const result = JSON.parse(out) as { pieces: []; after: []; bass: DraftPart['bass']; statements: [] };
    write({ number, part: 'fit', provisional: false, pieces: result.pieces });
    write({ number, part: 'decay', provisional: false, decay: result.after, statements: result.statements });
    write({ number, part: 'response', provisional: false, ...(result.bass ? { bass: result.bass } : {}) });
  } else if (wrong) write({ number, part: 'errors', provisional: false, errors: complaints(wrong) });
  write({ number, part: 'done', provisional: false });
  response.end();
}

// ---- jobs, journals, files ----------------------------------------------------------------------

const read_toml = (path: string): Tree => JSON.parse(JSON.stringify(parse(readFileSync(path, 'utf8')))) as Tree;
function need_shop(): void {
  if (!documents.has('shop_metric.toml')) memory.create('shop_metric.toml', 'shop', read_toml(join(root, 'examples/shop_metric.toml')), '');
  if (!documents.has('shop_inch.toml')) memory.create('shop_inch.toml', 'shop', read_toml(join(root, 'examples/shop_inch.toml')), '');
}
function free_id(wish: string): string {
  const plain = wish.toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '').slice(0, 60) || 'job';
  for (let k = 1; ; ++k) {
    const id = k === 1 ? plain : `${plain}-${k}`;
    if (!documents.has(id)) return id;
  }
}
function new_job(request: NewJob): { id: string; saved: Saved } {
  need_shop();
  if (request.start === 'demo') {
    const tree = read_toml(join(root, 'examples/control_room.toml'));
    const id = free_id(String(tree.title));
    return { id, saved: memory.create(id, 'job', tree, 'the demo') };
  }
  const units = request.units ?? 'mm';
  const metric = units !== 'in' && units !== 'ft';
  const size = (request.size ?? (metric ? [4800, 3600, 2500] : [192, 144, 98])) as Json[];
  const place = metric ? { mm: 1, cm: 0.1, m: 0.001 }[units as 'mm'] : { in: 1 / 25.4, ft: 1 / 304.8 }[units as 'in'];
  const at = (x: number, y: number, z: number): Json => [x, y, z].map((mm) => Number((mm * place!).toFixed(3)));
  const first = metric ? 'shop_metric' : 'shop_inch';
  const tree: Tree = {
    schema: 1, title: request.title || 'New job', date: now().slice(0, 10), use: request.use ?? 'mixing', shop: `${first}.toml`,
    region: { units }, room: { size }, surfaces: { default: 'plasterboard_two_layers', floor: 'carpet_thin' },
    loudspeakers: [{ label: 'left', at: at(700, 1100, 1200) }, { label: 'right', at: at(700, 2500, 1200) }],
    seats: [{ label: 'seat', at: at(2000, 1800, 1200) }], products: [], pieces: [],
  };
  const id = free_id(String(tree.title));
  return { id, saved: memory.create(id, 'job', tree, '') };
}
function job_heads(): JobHead[] {
  const heads: JobHead[] = [];
  for (const [id, { kind, trees }] of documents) {
    if (kind !== 'job') continue;
    const tree = trees.at(-1)!;
    const word = (key: string): string => (typeof tree[key] === 'string' ? (tree[key] as string) : '');
    const head = memory.head(id);
    const client = tree.client as { name?: string } | undefined;
    const pieces = Array.isArray(tree.pieces) ? tree.pieces.length : 0;
    const done = [...ticked(memory.entries('ticks', 0, id), [])];
    const count = (front: string): number => done.filter((step) => step.startsWith(front)).length;
    const hung = count('hang.');
    const framed = count('frame.');
    const states: Array<[JobHead['state'], boolean]> = [
      ['done', done.includes('job.done')],
      ['proof', pieces > 0 && hung >= pieces], ['hanging', hung > 0 || (pieces > 0 && framed >= pieces)], ['building', done.length > 0],
    ];
    const state = (states.find((one) => one[1])?.[0] ?? (pieces > 0 ? 'offered' : 'survey'));
    heads.push({
      id, version: head.version, title: word('title'), reference: word('reference'), revision: word('revision') || 'A',
      date: word('date'), client: client?.name ?? '', state, pieces, pieces_done: framed, pieces_hung: hung,
      when: head.when, who: head.who, closed: done.includes('job.done'), order: tree.order !== undefined,
    });
  }
  return heads.reverse();
}

let code: PairingCode | undefined;
const devices: Device[] = [];
const role_of = (who: string): Device['role'] => (who === 'bench' || who === 'site' ? who : 'office');
function rack(): StockLine[] {
  const kinds = { timber: 'timber', cloth: 'cloth', boards: 'board', sheets: 'sheet', hardware: 'hardware' } as const;
  const shop = documents.get('shop_metric.toml')?.trees.at(-1) ?? {};
  return Object.entries(kinds).flatMap(([table, kind]) =>
    Object.entries((shop[table] ?? {}) as Tree).flatMap(([key, one]): StockLine[] => {
      const entry = one as Tree;
      const base = { key, kind, name: String(entry.name), unit: kind === 'cloth' ? 'm' : 'each', offcut: false };
      if (Array.isArray(entry.sticks)) return (entry.sticks as Tree[]).map((stick) => ({ ...base, length_m: Number(stick.length) / 1000, count: Number(stick.in_hand ?? 0) }));
      return [{ ...base, length_m: null, count: Number(entry.in_hand ?? 0) }];
    }),
  );
}
async function calendar(): Promise<unknown[]> {
  const rows = [];
  for (const head of job_heads()) {
    const found = head.pieces > 0 ? ((await stage(head.id, 'build', 0).catch(() => undefined)) as { calendar?: object } | undefined) : undefined;
    rows.push({ ...head, job: head.id, calendar: found?.calendar ?? null, reason: found ? '' : 'no piece hangs in it yet' });
  }
  return rows;
}
function clients(): object[] {
  const names = [...new Set(job_heads().map((one) => one.client).filter(Boolean))];
  return names.map((name) => ({ name, jobs: job_heads().filter((one) => one.client === name).map((one) => ({ id: one.id, title: one.title, reference: one.reference, date: one.date, removed: false })) }));
}

const files: Array<StoredFile & { data: Buffer }> = [];

function materials(): unknown {
  const rows = readFileSync(join(root, 'data/surfaces.csv'), 'utf8').split('\n').filter((line) => line && !line.startsWith('#'));
  return rows.slice(1).map((line) => {
    const cells = [...line.matchAll(/("([^"]|"")*"|[^,]*)(,|$)/g)].map((one) => one[1]!.replace(/^"|"$/g, '').replaceAll('""', '"'));
    return { key: cells[0], group: cells[1], name: cells[2], source: cells[10] };
  });
}

// ---- the wire -----------------------------------------------------------------------------------

async function body_of(request: IncomingMessage): Promise<Buffer> {
  const parts: Buffer[] = [];
  for await (const part of request) parts.push(part as Buffer);
  return Buffer.concat(parts);
}

type Answer = { kind: string; data: string | Buffer; status?: number } | object;

async function answer(request: IncomingMessage, response: ServerResponse, url: URL): Promise<Answer | undefined> {
  const path = url.pathname.split('/').slice(2).map(decodeURIComponent);
  const method = request.method ?? 'GET';
  const body = method === 'GET' ? Buffer.alloc(0) : await body_of(request);
  const read = <T>(): T => JSON.parse(body.toString() || '{}') as T;
  const version = Number(url.searchParams.get('version') ?? 0);
  const who = (request.headers['x-stand-in-who'] as string | undefined) ?? /who=(\w+)/.exec(request.headers.cookie ?? '')?.[1] ?? 'office';
  const [area, id = '', part, name = ''] = path;
  const route = `${method} ${area}${id ? '/*' : ''}${part ? `/${part}` : ''}${name ? '/*' : ''}`;
  switch (route) {
    case 'GET state':
      return { program: 'stand-in', sequence: memory.sequence, empty: job_heads().length === 0, role: role_of(who), who, lan: true };
    case 'GET library':
      return { materials: materials(), uses: ['mixing', 'tracking', 'narration', 'drums', 'listening', 'rehearsal'], books: [] } as object;
    case 'GET jobs':
      return job_heads();
    case 'POST jobs':
      return new_job(read<NewJob>());
    case 'POST jobs/*': {
      const tree = JSON.parse(JSON.stringify(parse(body.toString()))) as Tree;
      need_shop();
      const fresh = free_id(String(tree.title ?? id));
      return { id: fresh, saved: memory.create(fresh, 'job', tree, `from ${url.searchParams.get('name') ?? 'a file'}`) };
    }
    case 'GET jobs/*/export':
      return { kind: 'application/toml', data: stringify(memory.document(id).trees.at(-1)!) };
    case 'GET jobs/*/stages/*':
      return { version, stage: name, result: await stage(id, name, version) };
    case 'POST jobs/*/draft':
      return void (await draft(id, read<DraftRequest>(), response));
    case 'GET jobs/*/papers': {
      const folder = await pack_folder(id, version);
      return readdirSync(folder).filter((one) => one.endsWith('.pdf')).sort()
        .map((one) => ({ name: one, title: one.slice(3, -4).replaceAll('-', ' '), bytes: statSync(join(folder, one)).size }));
    }
    case 'GET jobs/*/papers/*': {
      const folder = await pack_folder(id, version);
      if (!readdirSync(folder).includes(name)) throw complain(404, name, 'is not a paper of this job');
      return { kind: 'application/pdf', data: readFileSync(join(folder, name)) };
    }
    case 'GET stock':
      return rack() as object;
    case 'GET calendar':
      return calendar() as object;
    case 'GET times':
      return [...documents].filter(([, one]) => one.kind === 'shop').map(([key, one]) => ({ shop: key, version: one.trees.length, logs: 0, rows: [], passed_over: [] }));
    case 'GET clients':
      return clients();
    case 'GET devices':
      return devices;
    case 'POST devices/*': {
      const asked = read<{ role: Device['role']; name: string; code: string }>();
      if (id === 'codes') return { ...(code = { code: '314159', address: 'https://127.0.0.1', expires: new Date(Date.now() + 600_000).toISOString(), qr: { modules: 21, path: 'M2 2h7v7h-7zM12 2h7v7h-7zM2 12h7v7h-7zM12 12h2v2h-2zM16 16h3v3h-3z' } }), role: asked.role };
      if (asked.code !== code?.code) throw complain(403, 'code', 'is not one that holds', 'ask the office for a new one');
      devices.push({ id: String(devices.length + 1), name: asked.name, role: 'bench', paired: now(), seen: now() });
      return devices.at(-1)!;
    }
    case 'DELETE devices/*':
      return devices.splice(devices.findIndex((one) => one.id === id), 1)[0]!;
    case 'GET jobs/*/alternatives':
      return [...documents].filter(([key, one]) => one.kind === 'alternative' && key.startsWith(`${id}--`))
        .map(([key, one]) => ({ id: key, name: one.steps[0]!.note, version: one.trees.length, of: 1, who, when: one.steps.at(-1)!.when }));
    case 'POST jobs/*/alternatives': {
      const fresh = free_id(`${id}--${read<{ name: string }>().name}`);
      return { id: fresh, saved: memory.create(fresh, 'alternative', memory.document(id).trees.at(-1)!, read<{ name: string }>().name) };
    }
    case 'POST jobs/*/alternatives/*': {
      const job = memory.document(id).trees.at(-1)!;
      const tree = memory.document(name).trees.at(-1)!;
      const edits = [...new Set([...Object.keys(job), ...Object.keys(tree)])].flatMap((key) => put(job, key, tree[key]).filter((edit) => edit.to !== undefined || key in job));
      return memory.edit(id, { base: read<{ base: number }>().base, edits, note: `alternative ${name} taken`, token: String(Math.random()) }, who);
    }
    case 'GET documents':
      return [...documents].filter(([, one]) => one.kind === (url.searchParams.get('kind') ?? one.kind)).map(([key]) => memory.head(key));
    case 'GET documents/*': {
      const { trees } = memory.document(id);
      return { head: memory.head(id), version: version || trees.length, tree: trees[(version || trees.length) - 1]!, format: 'toml' };
    }
    case 'POST documents/*/edits':
      return memory.edit(id, read<EditsRequest>(), who);
    case 'POST documents/*/undo':
    case 'POST documents/*/redo':
      return memory.step_back(id, part as 'undo' | 'redo', read<{ base: number }>().base, who);
    case 'GET documents/*/history':
      return memory.document(id).steps.filter((step) => step.version > Number(url.searchParams.get('after') ?? 0));
    case 'GET events': {
      response.writeHead(200, { 'content-type': 'text/event-stream', 'cache-control': 'no-cache' });
      const after = Number(request.headers['last-event-id'] ?? url.searchParams.get('after') ?? memory.sequence);
      response.write(': here\n\n');
      memory.changes.filter((one) => one.sequence > after).forEach((one) => write_event(response, one));
      streams.add(response);
      response.on('close', () => streams.delete(response));
      return undefined;
    }
    case 'GET journals/*': {
      const after = Number(url.searchParams.get('after') ?? 0);
      return memory.entries(id, after, url.searchParams.get('document') ?? '');
    }
    case 'POST journals/*': {
      const { expected, entries } = read<{ expected: number | null; entries: NewEntry[] }>();
      return memory.append(id, expected, entries, who);
    }
    case 'GET files':
      return files.filter((one) => one.note.document === (url.searchParams.get('document') ?? '') && !one.removed)
        .map((one) => ({ ...one, data: undefined }));
    case 'POST files': {
      const word = (key: string): string => url.searchParams.get(key) ?? '';
      const note = { name: word('name'), kind: word('kind'), document: word('document'), piece: word('piece'), place: word('place') };
      const sha256 = createHash('sha256').update(body).digest('hex');
      const file = { id: files.length + 1, note, sha256, bytes: body.length, who, when: now(), removed: false, data: body };
      files.push(file);
      memory.tell('file', String(file.id), 0);
      return { ...file, data: undefined };
    }
    case 'GET files/*': {
      const file = files[Number(id) - 1];
      if (!file) throw complain(404, id, 'is not a file here');
      return { kind: file.note.name.endsWith('.png') ? 'image/png' : 'image/jpeg', data: file.data };
    }
    default:
      throw complain(404, url.pathname, 'is nothing that the stand-in knows');
  }
}

const kinds: Record<string, string> = {
  '.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.css': 'text/css', '.woff2': 'font/woff2',
  '.svg': 'image/svg+xml', '.webmanifest': 'application/manifest+json', '.json': 'application/json',
};
function page_file(response: ServerResponse, path: string): void {
  const file = join(page, path === '/' ? 'index.html' : path);
  if (!file.startsWith(page) || !existsSync(file) || !statSync(file).isFile()) {
    response.writeHead(404).end();
    return;
  }
  response.writeHead(200, {
    'content-type': kinds[extname(file)] ?? 'application/octet-stream',
    'content-security-policy': "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; frame-ancestors 'none'",
  }).end(readFileSync(file));
}

const server = createServer((request, response) => {
  const url = new URL(request.url ?? '/', 'http://127.0.0.1');
  if (!url.pathname.startsWith('/api/')) return page_file(response, url.pathname);
  answer(request, response, url).then(
    (got) => {
      if (got === undefined || response.headersSent) return;
      if ('kind' in got && 'data' in got) {
        response.writeHead(200, { 'content-type': got.kind as string }).end(got.data);
      } else response.writeHead(200, { 'content-type': 'application/json' }).end(JSON.stringify(got));
    },
    (wrong: unknown) => {
      const refused = wrong instanceof Refused ? wrong : complain(500, '', String(wrong));
      if (response.headersSent) return void response.end();
      response.writeHead(refused.status, { 'content-type': 'application/json' }).end(JSON.stringify(refused.body));
    },
  );
});

const option = (name: string): string | undefined => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? undefined : process.argv[at + 1];
};
if (process.argv.includes('--demo')) new_job({ start: 'demo' });
server.listen(Number(option('port') ?? 8137), '127.0.0.1', () => {
  const { port } = server.address() as { port: number };
  console.log(`The stand-in answers at http://127.0.0.1:${port}`);
});
