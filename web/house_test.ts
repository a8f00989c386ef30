// The page's folders know each other in one direction only, nothing but api/ fetches, and the lock
// file holds no address to download from.
import { readFileSync, readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const may_know: Record<string, string[]> = {
  units: [],
  api: [],
  job: ['api', 'units'],
  draw: ['api', 'job', 'units'],
  controls: ['api', 'draw', 'job', 'units'],
  stages: ['api', 'controls', 'draw', 'job', 'units'],
  dev: ['api', 'job'],
};
const here = new URL('.', import.meta.url).pathname;
const files = Object.keys(may_know).flatMap((folder) =>
  readdirSync(here + folder).filter((name) => /\.(ts|svelte)$/.test(name)).map((name) => ({ folder, name, text: readFileSync(`${here}${folder}/${name}`, 'utf8') })),
);

describe('the house', () => {
  it('has its arrows downward only', () => {
    expect(files.length).toBeGreaterThan(30);
    for (const { folder, name, text } of files) {
      if (name.endsWith('_test.ts')) continue;
      for (const [, other] of text.matchAll(/(?:from|import\() ?'\.\.\/(\w+)\//g))
        expect(may_know[folder], `${folder}/${name} imports from ${other}`).toContain(other);
    }
  });
  it('fetches in api/ alone', () => {
    for (const { folder, name, text } of files)
      if (folder !== 'api' && folder !== 'dev' && !name.endsWith('_test.ts'))
        expect(/\bfetch\(|XMLHttpRequest|new EventSource/.test(text), `${folder}/${name}`).toBe(false);
  });
  it('says what each file is for at its top', () => {
    for (const { folder, name, text } of files) expect(/^(\/\/|<!--)/.test(text), `${folder}/${name}`).toBe(true);
  });
  it('keeps files within their budget', () => {
    for (const { folder, name, text } of files)
      if (folder !== 'api') expect(text.split('\n').length, `${folder}/${name}`).toBeLessThan(600);
  });
  it('locks versions without an address', () => {
    const lock = readFileSync(`${here}package-lock.json`, 'utf8');
    expect(lock).not.toContain(`"resolved"`);
    const made = JSON.parse(readFileSync(`${here}package.json`, 'utf8')) as { devDependencies: Record<string, string> };
    for (const [name, version] of Object.entries(made.devDependencies)) expect(version, name).toMatch(/^\d+\.\d+\.\d+$/);
  });
});
