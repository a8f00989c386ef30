// The only code that fetches. Every call answers with what the contract says or with a Refusal;
// where the network is gone, with what was answered last if that is kept, else with a Refusal whose
// status is 0.
import { keep, kept } from './kept';
import type {
  Advice, Alternative, Appended, AppendRequest, CalendarRow, ClientRow, Created, Device, Document, DocumentHead, DraftPart, DraftRequest, EditsRequest, Entry, ErasedClient, Errors, FileNote, Inspections, JobHead,
  Library, Measured, NewAlternative, NewCode, NewJob, PairingCode, PairRequest, Paper, Saved, ShopTimes, State, Step, StockLine, StoredFile, UndoRequest,
  WriteTimes,
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

let unpaired: () => void = () => {};
/** Calls back when the program does not know this device (any more). */
export function when_unpaired(call: () => void): void {
  unpaired = call;
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
  if (response.status === 401) unpaired();
  const answer: unknown = await response.json().catch(() => undefined);
  const told = (answer as Partial<Errors> | undefined)?.errors?.[0];
  throw new Refusal(response.status, answer, told ? `${told.where} ${told.what}`.trim() : `refused (${response.status})`);
}

async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await (await ask(path, signal ? { signal } : {})).json()) as T;
}
/** As get, but the answer is kept under a key and told again where nothing answers. */
async function get_or_kept<T>(path: string, key = path, signal?: AbortSignal): Promise<T> {
  try {
    const text = await (await ask(path, signal ? { signal } : {})).text();
    void keep(key, text);
    return JSON.parse(text) as T;
  } catch (wrong) {
    if (!(wrong instanceof Refusal) || wrong.status !== 0) throw wrong;
    const text = await kept(key);
    if (text === undefined) throw wrong;
    return JSON.parse(text) as T;
  }
}
async function send<T>(path: string, body: unknown, method = 'POST'): Promise<T> {
  const headers = { 'content-type': 'application/json' };
  return (await (await ask(path, { method, headers, body: JSON.stringify(body) })).json()) as T;
}
const job_path = (id: string): string => `/api/jobs/${encodeURIComponent(id)}`;
const document_path = (id: string): string => `/api/documents/${encodeURIComponent(id)}`;

export const get_state = (): Promise<State> => get_or_kept('/api/state');
export const get_library = (): Promise<Library> => get_or_kept('/api/library');
export const get_jobs = (): Promise<JobHead[]> => get_or_kept('/api/jobs');
export const create_job = (job: NewJob): Promise<Created> => send('/api/jobs', job);
export const get_documents = (kind: string): Promise<DocumentHead[]> => get(`/api/documents?kind=${kind}`);
export const get_document = (id: string, version = 0): Promise<Document> =>
  version === 0 ? get_or_kept(`${document_path(id)}?version=0`) : get(`${document_path(id)}?version=${version}`);
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
  get_or_kept(`/api/files?document=${encodeURIComponent(document)}`);

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
  const path = `${job_path(id)}/stages/${stage}`;
  const answer = await get_or_kept<{ result: T; version: number }>(`${path}?version=${version}`, path, signal);
  if (answer.version !== version) throw new Refusal(0, undefined, 'The program does not answer, and what is kept is of another version.');
  return answer.result;
}

export const get_entries = (journal: string, after: number, document: string): Promise<Entry[]> =>
  (after === 0 ? get_or_kept<Entry[]> : get<Entry[]>)(`/api/journals/${journal}?after=${after}&document=${encodeURIComponent(document)}`);
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

export const get_inspections = (id: string): Promise<Inspections> => get_or_kept(`${job_path(id)}/inspections`);

export const get_measured = (id: string): Promise<Measured> => get_or_kept(`${job_path(id)}/measured`);

export const get_advice = (id: string, kind: string, hz: number, signal: AbortSignal): Promise<Advice> =>
  get(`${job_path(id)}/advice/${kind}${hz > 0 ? `?hz=${hz}` : ''}`, signal);
/** Where sound presses at a frequency; ends when the signal does. */
export function get_pressure(id: string, ask: { hz: number; loudspeaker: string; plane_mm: number | undefined }, signal: AbortSignal): Promise<Advice> {
  const query = new URLSearchParams({ hz: String(ask.hz) });
  if (ask.loudspeaker !== '') query.set('loudspeaker', ask.loudspeaker);
  if (ask.plane_mm !== undefined) query.set('plane_mm', String(ask.plane_mm));
  return get(`${job_path(id)}/advice/pressure?${query}`, signal);
}

export const get_stock = (): Promise<StockLine[]> => get_or_kept('/api/stock');
export const get_devices = (): Promise<Device[]> => get('/api/devices');
export const pair = (request: PairRequest): Promise<Device> => send('/api/devices/pair', request);
export async function unpair(id: string): Promise<void> {
  await ask(`/api/devices/${encodeURIComponent(id)}`, { method: 'DELETE' });
}
export const pairing_code = (code: NewCode): Promise<PairingCode> => send('/api/devices/codes', code);
export const remove_document = (id: string, base: number): Promise<Saved> =>
  send(document_path(id), { base, token: fresh_token() } satisfies UndoRequest, 'DELETE');
export async function remove_file(id: number): Promise<void> {
  await ask(file_address(id), { method: 'DELETE' });
}

export const get_times = (): Promise<ShopTimes[]> => get('/api/times');
export const write_times = (request: WriteTimes): Promise<Saved> => send('/api/times', request);
export const get_calendar = (): Promise<CalendarRow[]> => get_or_kept('/api/calendar');
export const get_clients = (): Promise<ClientRow[]> => get('/api/clients');
export const client_export_address = (name: string): string => `/api/clients/${encodeURIComponent(name)}/export`;
export const erase_client = (name: string, confirm: string): Promise<ErasedClient> => send(`/api/clients/${encodeURIComponent(name)}/erase`, { confirm });

const alternatives_path = (id: string): string => `${job_path(id)}/alternatives`;
export const get_alternatives = (id: string): Promise<Alternative[]> => get(alternatives_path(id));
export const new_alternative = (id: string, request: NewAlternative): Promise<Created> => send(alternatives_path(id), request);
export const take_alternative = (id: string, alternative: string, base: number): Promise<Saved> =>
  send(`${alternatives_path(id)}/${encodeURIComponent(alternative)}/take`, { base, token: fresh_token() } satisfies UndoRequest);
export async function drop_alternative(id: string, alternative: string): Promise<void> {
  await ask(`${alternatives_path(id)}/${encodeURIComponent(alternative)}`, { method: 'DELETE' });
}
