// A step of the build: writes the service worker with the names of all built files and a version that
// changes when any of them does.
import { createHash } from 'node:crypto';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

export function worker() {
  let out = '';
  return {
    name: 'service-worker',
    apply: 'build',
    configResolved: (config) => void (out = join(config.root, config.build.outDir)),
    closeBundle() {
      const names = readdirSync(out, { recursive: true, withFileTypes: true })
        .filter((one) => one.isFile() && one.name !== 'worker.js' && !one.name.endsWith('.gz') && !one.name.endsWith('.br'))
        .map((one) => join(one.parentPath ?? one.path, one.name).slice(out.length + 1).replaceAll('\\', '/'))
        .sort();
      const hash = createHash('sha256');
      for (const name of names) hash.update(name).update(readFileSync(join(out, name)));
      const files = names.map((name) => (name === 'index.html' ? './' : `./${name}`));
      const text = readFileSync(new URL('../worker.js', import.meta.url), 'utf8');
      writeFileSync(join(out, 'worker.js'), text.replace('VERSION', hash.digest('hex').slice(0, 16)).replace('FILES', JSON.stringify(files)));
    },
  };
}
