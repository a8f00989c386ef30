// The site, with one hand on a phone: a label leads to its piece, the piece is hung and ticked, and
// photographed while the network is gone.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { ask, expect, look_for_barriers, open_page, program, root, shot, shots, wide_enough } from './common.mjs';

/** A photo of the first label of a job of the examples, from the program's own paper; none where the
 * tool that makes pictures of papers is not there. */
function label_photo(example) {
  const folder = join(root, 'build/web/label-pack');
  const paper = join(folder, '14-labels.pdf');
  const picture = join(shots, 'label');
  try {
    if (!existsSync(paper)) {
      mkdirSync(join(root, 'build/web'), { recursive: true });
      execFileSync(program, ['pack', join(root, `examples/${example}.toml`), '--out', folder], { stdio: 'ignore' });
    }
    execFileSync('pdftoppm', ['-png', '-r', '110', '-f', '1', '-l', '1', '-x', '0', '-y', '0', '-W', '455', '-H', '330', '-singlefile', paper, picture]);
    return `${picture}.png`;
  } catch {
    return undefined;
  }
}

export async function site(browser, server, job, { short, example = '' }) {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  await page.goto(`${server.address}#/job/${encodeURIComponent(job)}/site`);
  await page.locator('.figure').waitFor();
  await look_for_barriers(page, 'site');
  await wide_enough(page, 'site');
  const hand = await page.locator('.hand .big.first, .hand .tick').evaluateAll((all) => all.map((one) => one.getBoundingClientRect()).map(({ bottom, height }) => ({ bottom, height })));
  expect('what the thumb needs is within its reach and large', hand.every(({ bottom, height }) => bottom > 844 * 0.5 && bottom <= 844 && height >= 48), JSON.stringify(hand));

  if (example && !short) {
    const photo = label_photo(example);
    if (photo) {
      for (let k = 0; k < 3; ++k) await page.getByRole('button', { name: 'Next' }).click();
      const elsewhere = await page.locator('h1').textContent();
      await page.locator('label', { hasText: 'Label from a photo' }).locator('input').setInputFiles(photo);
      await page.waitForFunction((old) => document.querySelector('h1').textContent !== old || /no code/.test(document.body.textContent), elsewhere);
      expect('a label in a photo leads to its piece', (await page.locator('h1').textContent()).startsWith('T1,'), `${elsewhere} → ${await page.locator('h1').textContent()}`);
      await shot(page, 'site-label');
    } else console.log('no tool makes a picture of the label here; it is typed instead');
  }
  const title = await page.locator('h1').textContent();
  const piece = title.split(',')[0];
  await page.getByLabel('Piece on the label').fill(piece.toLowerCase());
  await page.getByRole('button', { name: 'Go to it' }).click();
  expect('a typed label leads to its piece', (await page.locator('h1').textContent()).startsWith(piece));
  await page.getByLabel('Piece on the label').fill('RW1|other job|A|X1|x|wall0|0|0|1|1');
  await page.getByRole('button', { name: 'Go to it' }).click();
  expect('a label of another job is told', await page.getByText('of another job').isVisible());

  await context.setOffline(true);
  await page.locator('label', { hasText: 'Photograph' }).locator('input').setInputFiles({ name: 'hung.png', mimeType: 'image/png', buffer: await page.screenshot() });
  await page.getByText('one photo waits').waitFor();
  await page.getByLabel(`Note on ${piece}`).fill('plaster is soft here');
  await page.getByRole('button', { name: 'Keep the note' }).click();
  await page.getByText('not sent yet').waitFor();
  await shot(page, 'site-photo-waits', { fullPage: true });
  await context.setOffline(false);
  await page.getByText('one photo waits').waitFor({ state: 'detached' });
  const files = await ask(server, `api/files?document=${encodeURIComponent(job)}`);
  expect('a photo taken without a network arrives once, with its piece', files.filter((one) => one.note.piece === piece && one.note.kind === 'photo').length === 1, JSON.stringify(files));
  await page.locator('.tick').click();
  await page.getByText('all sent').waitFor();
  const notes = await ask(server, `api/journals/notes?after=0&document=${encodeURIComponent(job)}`);
  expect('a note made without a network arrives once', notes.filter((one) => one.subject === piece && one.body.text === 'plaster is soft here').length === 1, JSON.stringify(notes));
  const ticks = await ask(server, `api/journals/ticks?after=0&document=${encodeURIComponent(job)}`);
  expect('the piece is hung', ticks.some((one) => one.body.step === `hang.${piece}` && one.body.done), JSON.stringify(ticks.map((one) => one.body)));
  await shot(page, 'site-hung', { fullPage: true });
  await context.close();
}
