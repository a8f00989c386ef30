// A room drawn on squared paper, by hand and as the tape goes round; a picture of a plan under it at
// scale; a piece dragged in 3-D; an alternative beside the job, compared and taken.
import { ask, expect, look_for_barriers, open_page, post, shot, wide_enough } from './common.mjs';

export async function tries(browser, server) {
  const made = await (await post(server, 'api/jobs', { start: 'room', title: 'Attic', use: 'mixing', units: 'mm', size: [4800, 3600, 2500], token: `tries ${Math.random()}` })).json();
  const tree = async (id = made.id) => (await ask(server, `api/documents/${encodeURIComponent(id)}`)).tree;
  const context = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  await page.goto(`${server.address}#/job/${encodeURIComponent(made.id)}`);
  await page.locator('#survey .sentence').waitFor();
  const saved = async () => {
    await page.waitForTimeout(100);
    await page.getByText('all saved').waitFor();
  };

  // corner after corner, with the keys
  await page.getByRole('button', { name: 'Draw the room anew' }).click();
  const paper = page.getByRole('application');
  await paper.focus();
  const go = async (key, times) => {
    for (let k = 0; k < times; ++k) await page.keyboard.press(key);
    await page.keyboard.press('Enter');
  };
  await go('ArrowRight', 0);
  await go('ArrowRight', 10);
  await go('ArrowUp', 4);
  await go('ArrowLeft', 3);
  await go('ArrowUp', 3);
  await go('ArrowLeft', 7);
  await shot(page, 'drawn-by-keys');
  await look_for_barriers(page, 'squared paper');
  await page.getByRole('button', { name: 'Close the room' }).click();
  await saved();
  expect('a room drawn with the keys has its corners', JSON.stringify((await tree()).room.plan) === '[[0,0],[5000,0],[5000,2000],[3500,2000],[3500,3500],[0,3500]]', JSON.stringify((await tree()).room));
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.waitForFunction(() => [...document.querySelectorAll('#survey label')].some((one) => one.textContent.startsWith('length (walls')));
  await saved();
  expect('one undo brings the old room back', JSON.stringify((await tree()).room) === '{"size":[4800,3600,2500]}', JSON.stringify((await tree()).room));

  // as the tape goes round, over a picture of a plan
  const picture = await page.evaluate(() => {
    const canvas = document.createElement('canvas');
    canvas.width = 600;
    canvas.height = 400;
    const context = canvas.getContext('2d');
    context.fillStyle = '#fff';
    context.fillRect(0, 0, 600, 400);
    context.lineWidth = 6;
    context.strokeRect(50, 50, 500, 300);
    return canvas.toDataURL('image/png').split(',')[1];
  });
  await page.getByText('and a picture of a plan to trace').click();
  await page.locator('label', { hasText: 'A picture of a plan, to draw over' }).locator('input').setInputFiles({ name: 'plan.png', mimeType: 'image/png', buffer: Buffer.from(picture, 'base64') });
  await page.getByRole('button', { name: 'Set the scale of the picture' }).click();
  const box = await paper.boundingBox();
  const image = await page.locator('svg[role=application] image').boundingBox();
  const on_picture = (x, y) => [image.x + (x / 600) * image.width, image.y + (y / 400) * image.height];
  await page.mouse.click(...on_picture(50, 350));
  await page.mouse.click(...on_picture(550, 350));
  await page.getByLabel('apart').fill('5 m');
  await page.getByRole('button', { name: 'Scale the picture' }).click();
  const scaled = await page.locator('svg[role=application] image').boundingBox();
  expect('a picture is scaled by two of its points', Math.abs((scaled.width * (500 / 600)) / box.width - 5 / 10) < 0.02, `${scaled.width} of ${box.width}`);
  for (const [way, length] of [['0', '5000'], ['90', '3 m'], ['180', '500 cm']]) {
    await page.getByLabel('the next wall runs').selectOption(way);
    await page.getByLabel('for', { exact: true }).fill(length);
    await page.getByRole('button', { name: 'Add this wall' }).click();
  }
  await shot(page, 'drawn-over-picture');
  await page.getByRole('button', { name: 'Close the room' }).click();
  await saved();
  expect('walls typed as the tape goes round make a room', JSON.stringify((await tree()).room.plan) === '[[0,0],[5000,0],[5000,3000],[0,3000]]', JSON.stringify((await tree()).room));

  // a piece, dragged in 3-D
  const treatment = page.locator('#treatment');
  await treatment.getByRole('button', { name: 'Add it' }).click();
  await treatment.getByRole('button', { name: 'Hang it' }).click();
  await saved();
  await page.locator('#hang table').first().waitFor();
  await treatment.getByRole('button', { name: 'See the room in 3-D' }).click();
  const canvas = treatment.locator('.three canvas');
  await canvas.waitFor();
  await page.waitForTimeout(600);
  await canvas.scrollIntoViewIfNeeded();
  await page.locator('#treatment .chosen').getByRole('button', { name: 'Close' }).click();
  const before = (await tree()).pieces[0].from;
  const view = await canvas.boundingBox();
  let moved = false;
  for (let y = 0.35; y < 0.75 && !moved; y += 0.08)
    for (let x = 0.2; x < 0.85 && !moved; x += 0.06) {
      await page.mouse.move(view.x + view.width * x, view.y + view.height * y);
      await page.mouse.down();
      const held = await page.locator('#treatment .chosen').isVisible();
      if (held) await page.mouse.move(view.x + view.width * x + 60, view.y + view.height * y - 12, { steps: 6 });
      if (held) await shot(page, 'dragged-in-3d');
      await page.mouse.up();
      moved = held;
    }
  await saved();
  const after = (await tree()).pieces[0].from;
  expect('a piece is dragged along its wall in 3-D', moved && JSON.stringify(after) !== JSON.stringify(before), `${JSON.stringify(before)} → ${JSON.stringify(after)}`);

  // advice: what to fill the panel with, a trap for a band; a long question is stopped
  if (server.real) await advice(page, treatment, tree, saved);
  if (server.real) await pressure(page, treatment);

  // an alternative
  await page.getByText(/^Alternatives \(0\)/).click();
  await page.getByLabel('Keep a copy as').fill('one more');
  await page.getByRole('button', { name: 'Copy the job as an alternative' }).click();
  await page.getByRole('link', { name: 'Open one more' }).click();
  await page.getByText('This is an alternative').waitFor();
  const other = decodeURIComponent(new URL(page.url()).hash.split('/')[2]);
  await page.locator('#treatment').getByRole('button', { name: 'Hang it' }).click();
  await saved();
  expect('an alternative is changed alone', (await tree(other)).pieces.length === 2 && (await tree()).pieces.length === 1);
  await page.getByRole('link', { name: 'Back to the job, to compare' }).click();
  await page.getByRole('button', { name: 'Compare side by side' }).click();
  await page.locator('.side section').nth(1).waitFor();
  await page.getByRole('button', { name: 'Compare side by side' }).waitFor();
  await page.locator('.does').first().evaluate((one) => one.scrollIntoView({ block: 'center' }));
  await shot(page, 'alternatives');
  await look_for_barriers(page, 'alternatives');
  await wide_enough(page, 'alternatives');
  await page.getByRole('button', { name: 'Take it: one more' }).click();
  await page.getByText('is the job now').waitFor();
  await page.waitForFunction(() => document.querySelectorAll('#treatment g.piece').length >= 2);
  expect('an alternative that is taken is the job', (await tree()).pieces.length === 2);
  await page.getByRole('button', { name: 'Undo' }).first().click();
  await saved();
  await page.waitForTimeout(600);
  expect('one undo takes it back', (await tree()).pieces.length === 1, JSON.stringify((await tree()).pieces));

  // an order without a room
  const { readFileSync } = await import('node:fs');
  const { join } = await import('node:path');
  const { root } = await import('./common.mjs');
  await page.goto(server.address);
  await page.locator('label', { hasText: 'Open a job file' }).locator('input').setInputFiles({ name: 'panel_order.toml', mimeType: 'application/toml', buffer: readFileSync(join(root, 'examples/panel_order.toml')) });
  await page.locator('#price table').first().waitFor();
  await shot(page, 'order', { fullPage: true });
  await look_for_barriers(page, 'an order');
  expect('an order without a room comes to an offer', (await page.locator('#price .sentence').textContent()).length > 10 && (await page.locator('#findings').count()) === 0);

  // a client asks to be forgotten
  const client = 'the customer of the demo';
  await page.goto(`${server.address}#/clients`);
  await page.getByRole('heading', { name: client }).waitFor();
  const theirs = page.locator('section.client', { has: page.getByRole('heading', { name: client }) });
  const archive = await theirs.getByRole('link', { name: 'All that the shop has' }).getAttribute('href');
  if (server.real) expect('a client’s data is had as one archive', (await (await fetch(new URL(archive, server.address))).arrayBuffer()).byteLength > 1024);
  await theirs.getByRole('button', { name: 'Erase …' }).click();
  const erase = page.getByRole('button', { name: `Erase ${client}` });
  expect('nothing is erased before the name is typed', await erase.isDisabled());
  await page.getByLabel('Type the name to confirm').fill(client);
  await look_for_barriers(page, 'erasing a client');
  await shot(page, 'erasing');
  if (server.real) {
    await erase.click();
    await page.getByRole('heading', { name: 'Erased' }).waitFor();
    await shot(page, 'erased');
    expect('an erased client is gone from the jobs', !JSON.stringify(await ask(server, 'api/jobs')).includes(client));
  }
  await context.close();
}

async function advice(page, treatment, tree, saved) {
  await treatment.getByText('Ask for advice').click();
  await treatment.getByRole('button', { name: 'A better place for loudspeakers and seat' }).click();
  await treatment.getByRole('button', { name: 'Stop' }).click();
  await treatment.getByText('Stopped.').waitFor();
  await treatment.getByRole('button', { name: 'What to fill the panels with' }).click();
  const filling = treatment.getByRole('button', { name: /^Take it: filling 1/ });
  await filling.waitFor();
  const was = (await tree()).products;
  await filling.click();
  await saved();
  const filled = (await tree()).products[0];
  expect('what is advised is taken as one step', JSON.stringify(filled) !== JSON.stringify(was[0]) && filled.board_layers >= 1, JSON.stringify(filled));
  await page.getByRole('button', { name: 'Undo' }).first().click();
  await saved();
  expect('one undo takes the advice back', JSON.stringify((await tree()).products) === JSON.stringify(was), JSON.stringify((await tree()).products));
  await treatment.getByLabel('band in Hz').fill('9');
  await treatment.getByRole('button', { name: 'A trap for this band' }).click();
  await treatment.getByText('is no band for a trap').waitFor();
  await treatment.getByLabel('band in Hz').fill('63');
  await treatment.getByRole('button', { name: 'A trap for this band' }).click();
  await treatment.getByRole('button', { name: /^Add it: trap 63 Hz/ }).first().waitFor();
  await look_for_barriers(page, 'advice');
  await wide_enough(page, 'advice');
  await treatment.getByText('Ask for advice').scrollIntoViewIfNeeded();
  await shot(page, 'advice');
  await treatment.getByRole('button', { name: /^Add it: trap 63 Hz/ }).first().click();
  await saved();
  expect('a trap that is advised is a product', (await tree()).products.at(-1).kind === 'tuned_trap', JSON.stringify((await tree()).products));
  await page.setViewportSize({ width: 390, height: 844 });
  await wide_enough(page, 'advice, phone');
  await page.setViewportSize({ width: 1366, height: 860 });
  await treatment.getByText('Ask for advice').click();
}

/** Maps of pressure: a frequency is typed, then one that there is not; a plane above the ceiling. */
async function pressure(page, treatment) {
  await treatment.getByText('Where sound presses at any frequency').click();
  await treatment.getByText('Where a trap that pressure drives bites').waitFor();
  await treatment.getByLabel('frequency in Hz').fill('57');
  await treatment.getByLabel('frequency in Hz').press('Enter');
  await treatment.getByText('bites, at 57 Hz').waitFor();
  expect('maps show the walls today', (await treatment.getByRole('img', { name: /^Today, walls at 57 Hz: / }).count()) === 1);
  await look_for_barriers(page, 'maps of pressure');
  await wide_enough(page, 'maps of pressure');
  await treatment.getByText('Where sound presses at any frequency').scrollIntoViewIfNeeded();
  await shot(page, 'pressure');
  await treatment.getByLabel('frequency in Hz').fill('999');
  await treatment.getByLabel('frequency in Hz').press('Enter');
  await treatment.getByText('999 is no frequency for these maps').waitFor();
  await treatment.getByRole('textbox', { name: 'plane above the floor' }).fill('9 m');
  await treatment.getByRole('textbox', { name: 'plane above the floor' }).press('Enter');
  await treatment.getByText('plane must lie between the floor and the ceiling').waitFor();
  await treatment.getByText('Where sound presses at any frequency').click();
}
