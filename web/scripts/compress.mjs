// Puts a .gz and a .br beside each file of the built page that becomes smaller by it: the program
// carries them ready-made.
import { readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';

const folder = new URL('../../build/web/dist/', import.meta.url).pathname;
const squeezed = /\.(html|js|css|json|svg|txt|wasm|webmanifest)$/;
for (const name of readdirSync(folder, { recursive: true })) {
  const path = join(folder, name);
  if (!squeezed.test(name) || !statSync(path).isFile()) continue;
  const bytes = readFileSync(path);
  const options = { params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length } };
  for (const [ending, smaller] of [['gz', gzipSync(bytes, { level: 9 })], ['br', brotliCompressSync(bytes, options)]])
    if (smaller.length < bytes.length) writeFileSync(`${path}.${ending}`, smaller);
}
