// What only hands can show: a length typed, a piece dragged to its rest, undo, two people at one place,
// curves that follow the hand, the room in 3-D, the hang sheet on a phone.
import { join } from 'node:path';
import { ask, expect, look_for_barriers, open_page, post, shot, shots } from './common.mjs';

export async function hands(browser, server, job) {
  const document_path = `api/documents/${encodeURIComponent(job)}`;
  const context = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  const begin = Date.now();
  await page.goto(`${server.address}#/job/${encodeURIComponent(job)}`);
  await page.locator('#survey svg').first().waitFor();
  const loaded = Date.now() - begin;
  const metrics = await context.newCDPSession(page);
  await metrics.send('Performance.enable');
  const spent = async () => (await metrics.send('Performance.getMetrics')).metrics.find((one) => one.name === 'TaskDuration').value;
  console.log(`the docket stands after ${loaded} ms, of which the main thread was busy for ${((await spent()) * 1000).toFixed(0)} ms`);
  await page.locator('#hang table').first().waitFor();
  const height = page.locator('#survey').getByLabel('height', { exact: true });
  await height.fill('2,4');
  await height.press('Enter');
  await page.getByText('has a comma').waitFor();
  await height.fill('243 cm');
  await height.press('Enter');
  await page.getByText('all saved').waitFor();
  expect('a length in another unit is taken', (await height.inputValue()) === '2430');
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.waitForFunction(() => [...document.querySelectorAll('#survey label')].find((one) => one.textContent === 'height')?.control.value === '2480');
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
  await shot(page, 'piece-selected');

  // a drag comes to rest on a neighbour
  const s2 = page.locator('#treatment g.piece[aria-label^="S2,"] .body').first();
  await s2.scrollIntoViewIfNeeded();
  const box = await s2.boundingBox();
  await page.mouse.move(box.x + 20, box.y + 40);
  await page.mouse.down();
  await page.mouse.move(box.x - 40, box.y + 60, { steps: 8 });
  await shot(page, 'piece-dragged');
  await page.mouse.up();
  await page.waitForTimeout(200);
  const dragged = await page.locator('#treatment g.piece[aria-label^="S2,"]').first().getAttribute('aria-label');
  expect('a drag moves a piece', !dragged.includes('3660 mm'), dragged);
  await page.keyboard.press('Control+z');
  await page.waitForFunction(() => document.querySelector('#treatment g.piece[aria-label^="S2,"]').getAttribute('aria-label').includes('3660 mm'));

  // two people, one place
  const other = await ask(server, document_path);
  const write = (edits) => post(server, `${document_path}/edits`, { base: other.version, edits, token: `walk ${Math.random()}` }, { 'x-stand-in-who': 'the bench' });
  await context.setOffline(true);
  await height.fill('2450');
  await height.press('Enter');
  await page.getByText('wait for the network').waitFor({ timeout: 20000 });
  await write([{ at: 'room.height', from: other.tree.room.height, to: 2440 }]);
  await context.setOffline(false);
  await page.getByRole('dialog').waitFor({ timeout: 20000 });
  await look_for_barriers(page, 'conflict');
  await shot(page, 'conflict');
  await page.getByText('mine:').click();
  await page.getByRole('button', { name: 'Save what is chosen' }).click();
  await page.getByText('all saved').waitFor();
  const settled = await ask(server, document_path);
  await page.getByText('What was changed, and by whom').click();
  await page.locator('td', { hasText: server.real ? 'office' : 'the bench' }).first().waitFor();
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
  await shot(page, 'curves-follow');
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
  await context.close();
}
