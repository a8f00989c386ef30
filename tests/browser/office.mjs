// The office, with the keyboard alone: a room typed in feet and inches becomes a job, gets a product,
// a piece on the wall, and an offer that is ready to sign.
import { ask, becomes, expect, look_for_barriers, open_page, shot, tab_to, type_over, wide_enough } from './common.mjs';

export async function office(browser, server, { short }) {
  const context = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  const begin = Date.now();
  await page.goto(server.address);
  await page.getByRole('button', { name: 'Load the demo' }).waitFor();
  await look_for_barriers(page, 'empty shop');
  await shot(page, 'empty-shop');

  await tab_to(page, 'What it is called');
  await page.keyboard.type('Garage');
  await tab_to(page, 'The tape reads');
  await page.keyboard.type('feet');
  await tab_to(page, 'Its length');
  await page.keyboard.type('17 ft 9,5');
  await tab_to(page, 'Its width');
  await page.keyboard.type("12' 2\"");
  await tab_to(page, 'Its height');
  await page.keyboard.type('8');
  await page.keyboard.press('Enter');
  await page.getByRole('alert').waitFor();
  expect('a length that cannot be read is told with its remedy', (await page.getByRole('alert').textContent()).includes('length'));
  await tab_to(page, 'Its length', { back: true });
  await type_over(page, "17' 9 1/2\"");
  await page.keyboard.press('Enter');
  await page.locator('#survey .sentence').waitFor();
  await shot(page, 'first-job');
  await look_for_barriers(page, 'first job');

  // the height by the tape, then taken back and made again
  const height = page.locator('#survey').getByLabel('height', { exact: true });
  await tab_to(page, 'height', { role: 'input' });
  await type_over(page, "7' 10 3/4\"");
  await page.keyboard.press('Enter');
  await page.getByText('all saved').waitFor();
  await becomes(height, /^7'/);
  expect('a length in feet and inches is taken', (await height.inputValue()).replace(/\s/g, '') === "7'-103/4\"".replace(/\s/g, ''), await height.inputValue());
  await tab_to(page, 'Undo', { back: true });
  await page.keyboard.press('Enter');
  await becomes(height, /^8'/);
  await tab_to(page, 'Redo');
  await page.keyboard.press('Enter');
  await becomes(height, /^7'/);
  expect('what was taken back is made again', /^7'/.test(await height.inputValue()));

  // a product, a piece, a place
  await tab_to(page, 'Add it');
  while (!(await page.evaluate(() => document.activeElement.closest('#treatment') !== null))) {
    await page.keyboard.press('Tab');
    await tab_to(page, 'Add it');
  }
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Hang it' }).waitFor();
  await tab_to(page, 'Hang it', { back: true });
  await page.keyboard.press('Enter');
  await page.locator('#treatment g.piece').first().waitFor();
  await tab_to(page, /^W1, .* from the left/);
  const piece = page.locator('#treatment g.piece').first();
  const before = await piece.getAttribute('aria-label');
  for (let k = 0; k < 4; ++k) await page.keyboard.press('ArrowRight');
  await page.waitForFunction((old) => document.querySelector('#treatment g.piece').getAttribute('aria-label') !== old, before);
  await page.waitForTimeout(800);
  await page.getByText('all saved').waitFor();
  const job = decodeURIComponent(new URL(page.url()).hash.split('/')[2]);
  const saved = await ask(server, `api/documents/${job}`);
  expect('what the arrow keys move is saved', saved.tree.pieces.length === 1, JSON.stringify(saved.tree.pieces));

  // the offer, ready to sign
  await page.locator('#price table').first().waitFor();
  expect('a job of one’s own comes to an offer', (await page.locator('#price .sentence').textContent()).includes('offer'));
  console.log(`from nothing to an offer, by keys: ${((Date.now() - begin) / 1000).toFixed(0)} s`);
  await wide_enough(page, 'docket, office');
  if (!short) {
    await tab_to(page, 'Quote ready to sign');
    await page.keyboard.press('Enter');
    const link = page.locator('#price a[href*="papers"]').first();
    await link.waitFor({ timeout: 300000 });
    await tab_to(page, 'quote');
    const paper = await fetch(new URL(await link.getAttribute('href'), server.address));
    const bytes = Buffer.from(await paper.arrayBuffer());
    expect('the quote is a paper to sign', bytes.subarray(0, 5).toString() === '%PDF-' && bytes.length > 5000, `${bytes.length} bytes`);
    console.log(`from nothing to a quote ready to sign, by keys: ${((Date.now() - begin) / 1000).toFixed(0)} s`);
  }
  await context.close();
  return job;
}
