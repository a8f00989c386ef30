// An office walk through the page, as a person sees it: every stage at three sizes and in two themes,
// with axe over each, and a picture of each in build/web/shots. Then what only hands can show: a
// length typed, a piece moved with the keys, undo, a tick without a network.
// Usage: node tests/browser/walk.mjs [--quick | --hands]   (the page and the stand-in server must be built)
// Environment: ROOMWRIGHT the program; CHROMIUM the browser.
import { spawn } from 'node:child_process';
import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));
const require = createRequire(join(root, 'web/package.json'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const shots = join(root, 'build/web/shots');
mkdirSync(shots, { recursive: true });
const quick = process.argv.includes('--quick');
const hands_only = process.argv.includes('--hands');
const port = 18137;
const address = `http://127.0.0.1:${port}/`;

let passed = 0;
let failed = 0;
function expect(what, holds, told = '') {
  holds ? ++passed : ++failed;
  if (!holds) console.log(`FAILED: ${what}${told ? `\n  ${told}` : ''}`);
}

const server = spawn('node', [join(root, 'build/web/stand-in/server.js'), '--port', String(port)], {
  env: { ...process.env, ROOMWRIGHT_SOURCE: root }, stdio: ['ignore', 'pipe', 'inherit'],
});
await new Promise((ready) => server.stdout.once('data', ready));
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});

async function look_for_barriers(page, where) {
  await page.evaluate(axe);
  const found = await page.evaluate(() =>
    globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }),
  );
  const told = found.violations.map((one) => `${one.id} (${one.nodes.length}): ${one.help}\n    ${one.nodes.slice(0, 3).map((node) => `${node.html.slice(0, 160)} ${node.any[0]?.message ?? ''}`).join('\n    ')}`);
  expect(`axe finds nothing: ${where}`, found.violations.length === 0, told.join('\n  '));
}
const wide_enough = async (page, where) => {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  expect(`the page does not scroll sideways: ${where}`, over <= 0, `by ${over} px`);
};

const sizes = { desktop: [1366, 860], tablet: [820, 1180], phone: [390, 844] };
try {
  // an empty shop leads to the demo
  {
    const page = await browser.newPage({ viewport: { width: 1366, height: 860 } });
    const wrong = [];
    page.on('pageerror', (error) => wrong.push(String(error)));
    const strangers = [];
    page.on('request', (request) => !request.url().startsWith(address) && !request.url().startsWith('data:') && strangers.push(request.url()));
    await page.goto(address);
    await page.getByRole('button', { name: 'Load the demo' }).waitFor();
    await page.screenshot({ path: join(shots, 'empty-shop.png') });
    await look_for_barriers(page, 'empty shop');
    await page.getByRole('button', { name: 'Load the demo' }).click();
    await page.locator('#findings .sentence').waitFor({ timeout: 300000 });
    await page.locator('#proof table').waitFor({ timeout: 300000 });
    expect('nothing is fetched from elsewhere', strangers.length === 0, strangers.join(' '));
    expect('no script fails', wrong.length === 0, wrong.join('\n'));
    await page.close();
  }
  const job = '#/job/mixing-room-under-the-stairs';
  for (const [size, [width, height]] of hands_only ? [] : Object.entries(sizes))
    for (const theme of quick ? ['light'] : ['light', 'dark']) {
      const context = await browser.newContext({ viewport: { width, height }, colorScheme: theme, hasTouch: size !== 'desktop', reducedMotion: 'reduce' });
      const page = await context.newPage();
      page.setDefaultTimeout(120000);
      await page.goto(address + job);
      await page.locator('#proof table').waitFor({ timeout: 120000 });
      const where = `${size}, ${theme}`;
      await look_for_barriers(page, where);
      await wide_enough(page, where);
      await page.addStyleTag({ content: '.head, .rail { position: static !important; display: none !important; }' });
      for (const stage of ['survey', 'findings', 'treatment', 'build', 'price', 'hang', 'proof']) {
        const clip = await page.locator(`#${stage}`).boundingBox();
        await page.screenshot({ path: join(shots, `${size}-${theme}-${stage}.png`), fullPage: true, clip });
      }
      await page.reload();
      await page.locator('#proof table').waitFor({ timeout: 120000 });
      await page.screenshot({ path: join(shots, `${size}-${theme}-top.png`) });
      for (const mode of ['bench', 'site']) {
        await page.goto(`${address}${job}/${mode}`);
        await page.locator('.figure').waitFor({ timeout: 60000 });
        await look_for_barriers(page, `${mode}, ${where}`);
        await wide_enough(page, `${mode}, ${where}`);
        await page.screenshot({ path: join(shots, `${size}-${theme}-${mode}.png`) });
      }
      if (size === 'desktop') {
        await page.goto(address);
        await page.locator('.jobs li').first().waitFor();
        await look_for_barriers(page, `jobs, ${where}`);
        await page.screenshot({ path: join(shots, `${size}-${theme}-jobs.png`) });
      }
      await context.close();
    }

  // hands
  {
    const context = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
    const page = await context.newPage();
    const begin = Date.now();
    await page.goto(address + job);
    await page.locator('#survey svg').first().waitFor();
    const loaded = Date.now() - begin;
    const metrics = await context.newCDPSession(page);
    await metrics.send('Performance.enable');
    const spent = async () => (await metrics.send('Performance.getMetrics')).metrics.find((one) => one.name === 'TaskDuration').value;
    console.log(`the docket stands after ${loaded} ms, of which the main thread was busy for ${((await spent()) * 1000).toFixed(0)} ms`);
    const height = page.locator('#survey').getByLabel('height', { exact: true });
    await height.fill('2,4');
    await height.press('Enter');
    await page.getByText('has a comma').waitFor();
    await height.fill('243 cm');
    await height.press('Enter');
    await page.getByText('all saved').waitFor();
    expect('a length in another unit is taken', (await height.inputValue()) === '2430');
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.waitForFunction(() => [...document.querySelectorAll('#survey input')].some((one) => one.value === '2480'));
    expect('undo brings the height back', (await height.inputValue()) === '2480');

    const piece = page.locator('#treatment g.piece[aria-label^="S1,"]').first();
    await piece.focus();
    const before = await piece.getAttribute('aria-label');
    await page.keyboard.press('ArrowLeft');
    await page.keyboard.press('ArrowLeft');
    await page.waitForFunction((old) => document.querySelector('#treatment g.piece[aria-label^="S1,"]').getAttribute('aria-label') !== old, before);
    const after = await piece.getAttribute('aria-label');
    expect('the arrow keys move a piece', before.includes('4341 mm') && after.includes('4321 mm'), `${before} → ${after}`);
    await page.waitForTimeout(900);
    await page.getByText('all saved').waitFor();
    await page.screenshot({ path: join(shots, 'piece-selected.png') });

    // a drag comes to rest on a neighbour
    const s2 = page.locator('#treatment g.piece[aria-label^="S2,"] .body').first();
    await s2.scrollIntoViewIfNeeded();
    const box = await s2.boundingBox();
    await page.mouse.move(box.x + 20, box.y + 40);
    await page.mouse.down();
    await page.mouse.move(box.x - 40, box.y + 60, { steps: 8 });
    await page.screenshot({ path: join(shots, 'piece-dragged.png') });
    await page.mouse.up();
    await page.waitForTimeout(200);
    const dragged = await page.locator('#treatment g.piece[aria-label^="S2,"]').first().getAttribute('aria-label');
    expect('a drag moves a piece', !dragged.includes('3660 mm'), dragged);
    await page.keyboard.press('Control+z');
    await page.waitForFunction(() => document.querySelector('#treatment g.piece[aria-label^="S2,"]').getAttribute('aria-label').includes('3660 mm'));

    // two people, one place
    const other = await (await fetch(`${address}api/documents/mixing-room-under-the-stairs`)).json();
    const post = (edits) => fetch(`${address}api/documents/mixing-room-under-the-stairs/edits`, {
      method: 'POST', headers: { 'x-stand-in-who': 'the bench' }, body: JSON.stringify({ base: other.version, edits, token: String(Math.random()) }),
    });
    await context.setOffline(true);
    await height.fill('2450');
    await height.press('Enter');
    await page.getByText('wait for the network').waitFor({ timeout: 20000 });
    await post([{ at: 'room.height', from: other.tree.room.height, to: 2440 }]);
    await context.setOffline(false);
    await page.getByRole('dialog').waitFor({ timeout: 20000 });
    await look_for_barriers(page, 'conflict');
    await page.screenshot({ path: join(shots, 'conflict.png') });
    await page.getByText('mine:').click();
    await page.getByRole('button', { name: 'Save what is chosen' }).click();
    await page.getByText('all saved').waitFor();
    const settled = await (await fetch(`${address}api/documents/mixing-room-under-the-stairs`)).json();
    await page.getByText('What was changed, and by whom').click();
    await page.locator('td', { hasText: 'the bench' }).first().waitFor();
    expect('a conflict is settled as chosen', settled.tree.room.height === 2450, JSON.stringify(settled.tree.room.height));

    // the curves follow the hand: the answer itself is at once here, so that the page alone is timed
    await page.evaluate(() => {
      const real = fetch;
      globalThis.fetch = (path, options) => {
        if (!String(path).endsWith('/draft')) return real(path, options);
        const { number } = JSON.parse(options.body);
        const decay = [63, 125, 250, 500, 1000, 2000, 4000, 8000].map((hz) => ({
          hz, likely_s: 0.2 + (number % 9) * 0.05, low_s: 0.15, high_s: 0.7, target_low_s: 0.15, target_high_s: 0.3, verdict: 'in',
        }));
        return Promise.resolve(new Response(`${JSON.stringify({ number, part: 'decay', provisional: true, decay })}\n`));
      };
      globalThis.real_fetch = real;
    });
    const target = page.locator('#treatment g.piece[aria-label^="S2,"] .body').first();
    await target.scrollIntoViewIfNeeded();
    const from = await target.boundingBox();
    await page.evaluate(() => {
      globalThis.waits = [];
      let moved = 0;
      addEventListener('pointermove', () => (moved ||= performance.now()), true);
      new MutationObserver(() => {
        const since = moved;
        moved = 0;
        if (since) requestAnimationFrame(() => waits.push(performance.now() - since));
      }).observe(document.querySelector('#treatment figure'), { subtree: true, attributes: true, attributeFilter: ['d'] });
    });
    const before_drag = await spent();
    await page.mouse.move(from.x + 20, from.y + 40);
    await page.mouse.down();
    for (let k = 1; k <= 60; ++k) {
      await page.mouse.move(from.x + 20 - k * 2, from.y + 40 + (k % 5));
      await page.waitForTimeout(30);
    }
    console.log(`the page spends ${(((await spent()) - before_drag) * 1000 / 60).toFixed(0)} ms of main thread on each of 60 moves`);
    await page.screenshot({ path: join(shots, 'curves-follow.png') });
    await page.keyboard.press('Escape');
    await page.mouse.up();
    const waits = (await page.evaluate(() => waits)).sort((a, b) => a - b);
    console.log(`from hand to curve, the solve apart: ${waits.length} times, median ${waits[waits.length >> 1]?.toFixed(0)} ms, 95 % within ${waits[Math.floor(waits.length * 0.95)]?.toFixed(0)} ms`);
    expect('the curves change while the finger is down', waits.length >= 5, String(waits.length));
    await page.evaluate(() => void (globalThis.fetch = globalThis.real_fetch));

    // three dimensions
    await page.getByRole('button', { name: 'See the room in 3-D' }).click();
    await page.locator('.three canvas').waitFor({ timeout: 30000 });
    await page.waitForTimeout(800);
    await page.locator('.three').screenshot({ path: join(shots, 'room-3d.png') });

    // the hang sheet
    const [sheet] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Hang sheet for any phone' }).click()]);
    const phone = await browser.newPage({ viewport: { width: 390, height: 844 } });
    const kept_sheet = join(shots, 'hang-sheet.html');
    await sheet.saveAs(kept_sheet);
    await phone.goto(`file://${kept_sheet}`);
    await look_for_barriers(phone, 'hang sheet');
    await phone.screenshot({ path: join(shots, 'hang-sheet.png'), fullPage: true });
    expect('the hang sheet has a box for each piece', (await phone.locator('input[type=checkbox]').count()) === 17);
    await phone.close();

    // ticks without a network
    await page.goto(`${address}${job}/bench`);
    await page.locator('.figure').waitFor({ timeout: 120000 });
    await context.setOffline(true);
    const title = await page.locator('h1').textContent();
    await page.getByLabel('Done', { exact: true }).check();
    await page.getByText('kept here until the network is back').waitFor({ timeout: 10000 });
    expect('a tick turns to the next step', (await page.locator('h1').textContent()) !== title);
    await context.setOffline(false);
    await page.getByText('all sent').waitFor({ timeout: 20000 });
    const ticks = await (await fetch(`${address}api/journals/ticks`)).json();
    expect('a tick made without a network arrives once', ticks.length === 1 && ticks[0].body.done === true, JSON.stringify(ticks));

    // a first job of one's own
    const start = Date.now();
    await page.goto(address);
    await page.getByLabel('What it is called').fill('Garage');
    await page.getByLabel('The tape reads').selectOption('ft');
    await page.getByLabel('Its length').fill("17' 9 1/2\"");
    await page.getByLabel('Its width').fill("12' 2\"");
    await page.getByLabel('Its height').fill('8');
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.locator('#survey .sentence').waitFor({ timeout: 120000 });
    await page.screenshot({ path: join(shots, 'first-job.png') });
    await look_for_barriers(page, 'first job');
    await page.getByRole('button', { name: 'Add it' }).click();
    await page.getByRole('button', { name: 'Hang it' }).click();
    await page.locator('#price table').first().waitFor({ timeout: 240000 });
    expect('a job of one\'s own comes to an offer', (await page.locator('#price .sentence').textContent()).includes('offer'));
    console.log(`from nothing to an offer: ${((Date.now() - start) / 1000).toFixed(0)} s`);
    await page.goto(`${address}#/shop/shop_inch`);
    await page.getByRole('heading', { name: 'Terms' }).waitFor();
    await look_for_barriers(page, 'price book');
    await page.screenshot({ path: join(shots, 'price-book.png'), fullPage: true });
    await page.goto(`${address}#/survey-sheet`);
    await page.getByRole('heading', { name: 'Survey sheet' }).waitFor();
    await look_for_barriers(page, 'survey sheet');
    await page.screenshot({ path: join(shots, 'survey-sheet.png'), fullPage: true });
    await context.close();
  }
} catch (wrong) {
  ++failed;
  console.log(`FAILED: ${wrong.stack ?? wrong}`);
} finally {
  await browser.close();
  server.kill();
}
console.log(`\n${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
