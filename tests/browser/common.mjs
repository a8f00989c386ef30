// What every walk needs: a browser, a server to walk on (the stand-in or the program itself), counting
// of what holds, axe, and pictures.
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../..', import.meta.url));
const require = createRequire(join(root, 'web/package.json'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
export const shots = join(root, 'build/web/shots');
mkdirSync(shots, { recursive: true });
export const program = process.env.ROOMWRIGHT ?? join(root, 'build/check/roomwright');

export const count = { passed: 0, failed: 0 };
export function expect(what, holds, told = '') {
  holds ? ++count.passed : ++count.failed;
  if (!holds) console.log(`FAILED: ${what}${told ? `\n  ${told}` : ''}`);
}
export function shot(page, name, options = {}) {
  return page.screenshot({ path: join(shots, `${name}.png`), ...options });
}

/** The program's own server with a store of its own, or the stand-in; at whatever port is free. */
export async function start_server({ real, lan = false }) {
  const store = mkdtempSync(join(tmpdir(), 'roomwright-walk-'));
  const child = real
    ? spawn(program, ['serve', '--no-open', ...(lan ? ['--lan'] : []), '--port', '0', '--store', join(store, 'shop.store')], { stdio: ['ignore', 'pipe', 'inherit'] })
    : spawn('node', [join(root, 'build/web/stand-in/server.js'), '--port', '0'], { env: { ...process.env, ROOMWRIGHT: program, ROOMWRIGHT_SOURCE: root }, stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  child.stdout.on('data', (part) => (said += part));
  let ended = false;
  child.on('exit', () => (ended = true));
  process.on('exit', () => child.kill());
  let address = '';
  for (let k = 0; ; ++k) {
    if (ended || k > 200) throw new Error(`the server did not start: ${said}`);
    address = /http:\/\/127\.0\.0\.1:\d+/.exec(said)?.[0] ?? '';
    if (address && (await fetch(`${address}/api/state`).then((answer) => answer.ok, () => false))) break;
    await new Promise((go) => setTimeout(go, 150));
  }
  address += '/';
  const stop = async () => {
    child.kill('SIGTERM');
    await new Promise((go) => (ended ? go() : child.on('exit', go)));
    rmSync(store, { recursive: true, force: true });
  };
  return { address, real, stop, lan: /https:\/\/[\d.]+:\d+\//.exec(said)?.[0] ?? '' };
}

export const open_browser = () =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
  });

/** A page that says what goes wrong in it: a script that fails, a word from elsewhere, a broken policy. */
export async function open_page(context, server) {
  const page = await context.newPage();
  page.setDefaultTimeout(60000);
  page.on('pageerror', (error) => expect('no script fails', false, String(error)));
  page.on('console', (line) => line.type() === 'error' && /Content Security Policy|Refused to/.test(line.text()) && expect('the page keeps to its policy', false, line.text()));
  page.on('request', (request) => {
    const url = request.url();
    if (!url.startsWith(server.address) && !/^(data|blob):/.test(url)) expect('nothing is fetched from elsewhere', false, url);
  });
  return page;
}

export async function look_for_barriers(page, where) {
  await page.evaluate(axe);
  const found = await page.evaluate(() =>
    globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }),
  );
  const told = found.violations.map((one) => `${one.id} (${one.nodes.length}): ${one.help}\n    ${one.nodes.slice(0, 3).map((node) => `${node.html.slice(0, 160)} ${node.any[0]?.message ?? ''}`).join('\n    ')}`);
  expect(`axe finds nothing: ${where}`, found.violations.length === 0, told.join('\n  '));
}
export async function wide_enough(page, where) {
  const { over, out } = await page.evaluate(() => {
    const wide = document.documentElement.clientWidth;
    const scrolls = (one) => one !== null && (['auto', 'scroll', 'hidden'].includes(getComputedStyle(one).overflowX) || scrolls(one.parentElement));
    const out = [...document.querySelectorAll('body *')].filter((one) => one.getBoundingClientRect().right > wide + 1 && !scrolls(one.parentElement));
    return { over: document.documentElement.scrollWidth - wide, out: out.slice(-3).map((one) => one.outerHTML.slice(0, 140)) };
  });
  expect(`the page does not scroll sideways: ${where}`, over <= 0, `by ${over} px: ${out.join('\n  ')}`);
}

/** The theme as its button sets it. */
export const set_theme = (page, theme) => page.evaluate((one) => (document.documentElement.dataset.theme = one), theme);

export async function ask(server, path) {
  return (await fetch(server.address + path)).json();
}
export const post = (server, path, body, headers = {}) =>
  fetch(server.address + path, { method: 'POST', headers: { 'content-type': 'application/json', ...headers }, body: JSON.stringify(body) });

/** Tab after tab until what is wanted has the focus; as one without a mouse does it. */
export async function tab_to(page, name, { role = '', most = 400, back = false } = {}) {
  for (let k = 0; k < most; ++k) {
    const here = await page.evaluate(() => {
      const one = document.activeElement;
      if (!one || one === document.body) return undefined;
      const text = (from) => (from?.textContent ?? '').replace(/\s+/g, ' ').trim();
      const label = one.labels?.[0]?.cloneNode(true);
      label?.querySelectorAll('option, input').forEach((inner) => inner.remove());
      return { name: one.getAttribute('aria-label') ?? (label ? text(label) : text(one)), tag: one.tagName.toLowerCase() };
    });
    const fits = here && (name instanceof RegExp ? name.test(here.name) : here.name === name) && (role === '' || here.tag === role);
    if (fits) return here.name;
    await page.keyboard.press(back ? 'Shift+Tab' : 'Tab');
  }
  throw new Error(`the Tab key does not come to ${name}`);
}
export async function type_over(page, text) {
  await page.keyboard.press('Control+A');
  await page.keyboard.type(text);
}

/** Waits until a field says so, for half a minute at most. */
export async function becomes(field, pattern) {
  for (let tries = 0; tries < 300 && !pattern.test(await field.inputValue()); ++tries)
    await new Promise((again) => setTimeout(again, 100));
}
