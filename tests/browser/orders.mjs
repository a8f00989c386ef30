// An order without a room, from the first key to its price; its pieces looked at before they leave, one
// without a network; what the office sees of it; the job closed, found again, and taken up again.
import { ask, expect, look_for_barriers, open_page, set_theme, shot, tab_to, type_over, wide_enough } from './common.mjs';

async function by_keys(page) {
  await tab_to(page, 'Order without a room');
  await page.keyboard.press('Enter');
  await tab_to(page, 'Customer');
  await tab_to(page, 'Lengths are in');
  await page.keyboard.type('feet');
  await page.locator('.line select').nth(1).locator('option').nth(1).waitFor({ state: 'attached' });
  await tab_to(page, 'Width');
  await page.keyboard.type("1' 11 1/2 inch too many");
  await tab_to(page, 'Height');
  await page.keyboard.type('40 in');
  await tab_to(page, 'How many');
  await type_over(page, 'a few');
  await page.keyboard.press('Enter');
  const told = page.locator('form').getByRole('alert');
  await told.waitFor();
  const text = await told.textContent();
  for (const field of ['Customer', 'Line A, width', 'Line A, cloth', 'Line A, how many']) expect(`what is wrong is told by its field: ${field}`, text.includes(field), text);
  await page.waitForFunction(() => document.activeElement?.getAttribute('aria-invalid') === 'true');
  expect('the first field that is wrong has the focus', await page.evaluate(() => document.activeElement.labels[0].textContent.includes('Customer')));
  await look_for_barriers(page, 'an order with mistakes');
  await shot(page, 'order-mistakes', { fullPage: true });
  await set_theme(page, 'dark');
  await page.setViewportSize({ width: 390, height: 844 });
  await look_for_barriers(page, 'an order with mistakes, phone, dark');
  await wide_enough(page, 'an order with mistakes, phone');
  await shot(page, 'order-mistakes-phone', { fullPage: true });
  await set_theme(page, 'light');
  await page.setViewportSize({ width: 1366, height: 860 });
  await page.keyboard.type('the drummer next door');
  await tab_to(page, 'Width');
  await type_over(page, "1' 11 1/2\"");
  await tab_to(page, 'Cloth');
  await page.keyboard.press('ArrowDown');
  await tab_to(page, 'How many');
  await type_over(page, '2');
  await tab_to(page, 'Add a line');
  await page.keyboard.press('Enter');
  await tab_to(page, 'Width', { back: true });
  await page.keyboard.type('12 ft');
  await tab_to(page, 'Begin the order');
  await page.keyboard.press('Enter');
}

export async function orders(browser, server) {
  const context = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  await page.goto(server.address);
  await page.getByText('Order without a room').waitFor();
  const before = Date.now();
  if (!server.real) return void (await context.close());
  await by_keys(page);
  // the program refuses what no shop can make, and the page says where
  const told = page.locator('form').getByRole('alert');
  await told.waitFor();
  expect('what the program refuses is told by its field too', (await told.textContent()).includes('Line B, '), await told.textContent());
  await tab_to(page, 'Take line B out', { back: true });
  await page.keyboard.press('Enter');
  await tab_to(page, 'Begin the order');
  await page.keyboard.press('Enter');
  await page.locator('#price table').first().waitFor();
  console.log(`from nothing to the price of an order, by keys: ${((Date.now() - before) / 1000).toFixed(0)} s`);
  const id = decodeURIComponent(new URL(page.url()).hash.split('/')[2]);
  const { tree } = await ask(server, `api/documents/${id}`);
  expect('the order is what was typed', tree.client.name === 'the drummer next door' && tree.order.items.length === 1 && tree.order.items[0].count === 2 && tree.region.units === 'ft', JSON.stringify(tree));
  await page.locator('#build .leaves').waitFor();
  await look_for_barriers(page, 'an order begun on the page');
  await wide_enough(page, 'an order begun on the page');
  await shot(page, 'order-begun', { fullPage: true });
  await leaving(browser, server, id);

  // what the office sees of it
  const leaves = page.locator('#build .leaves');
  await leaves.getByText('Every piece has passed').waitFor();
  await leaves.getByText('Each piece, its limits').click();
  expect('the office sees what went back, and what rework took', (await leaves.textContent()).includes('square') && (await leaves.textContent()).includes('drill and screw'), await leaves.textContent());
  await leaves.getByText('Keep a dye lot or a certificate').click();
  await leaves.getByLabel('What it is').selectOption('fire');
  await leaves.getByLabel('What it says').fill('class B, no. 12');
  await leaves.getByLabel('The paper itself').setInputFiles({ name: 'paper.pdf', mimeType: 'application/pdf', buffer: Buffer.from('%PDF-1.4 a paper of the walk') });
  await leaves.getByRole('button', { name: 'Keep it' }).click();
  await page.waitForFunction(() => document.querySelector('.leaves table').textContent.includes('class B, no. 12'));
  const sheet = await ask(server, `api/jobs/${id}/inspections`);
  expect('a certificate has its paper', sheet.pieces.every((one) => one.certificates.some((paper) => paper.file > 0)), JSON.stringify(sheet.pieces[0].certificates));
  await leaves.scrollIntoViewIfNeeded();
  await look_for_barriers(page, 'before it leaves, office');
  await shot(page, 'leaving-office');
  await list(page, server, id);
  await context.close();
}

async function leaving(browser, server, id) {
  const context = await browser.newContext({ viewport: { width: 820, height: 1180 }, hasTouch: true, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  await page.goto(`${server.address}#/job/${encodeURIComponent(id)}/bench`);
  await page.locator('.figure').waitFor();
  await page.waitForFunction(() => [...document.querySelectorAll('.station option')].some((one) => one.textContent === 'before it leaves'));
  await page.getByLabel('go to').selectOption('before it leaves');
  await page.getByLabel('One diagonal').waitFor();
  await look_for_barriers(page, 'before it leaves, bench');
  await wide_enough(page, 'before it leaves, bench');
  const { pieces } = await ask(server, `api/jobs/${id}/inspections`);
  const inches = (m) => String(Math.round((m / 0.0254) * 16) / 16);
  const fill = async (limits, off = 0) => {
    await page.getByLabel('One diagonal').fill(`${inches(limits.diagonal_m)} in`);
    await page.getByLabel('The other diagonal').fill(`${inches(limits.diagonal_m + off)} in`);
    await page.getByLabel('Highest corner off the bench').fill('0');
    await page.getByLabel('Weight').fill((limits.mass_kg / 0.45359237).toFixed(2));
    for (const name of ['Cloth', 'Staples', 'Label']) await page.getByRole('group', { name }).getByLabel('yes').check();
    await page.getByRole('button', { name: 'Note what was found' }).click();
  };
  const verdict = page.locator('.verdict');
  await page.getByRole('button', { name: 'Note what was found' }).click();
  await page.getByText('Nothing is noted yet').waitFor();

  // a tape misread is no fault of the piece
  await fill(pieces[0].limits, 0.5);
  await verdict.getByText('measure again').waitFor();
  await page.getByText('all sent').waitFor();
  // out of square: back to a station, with its cause; the time of it is rework
  await fill(pieces[0].limits, 0.0254);
  await verdict.getByText('goes back to: drill and screw').waitFor();
  await shot(page, 'leaving-back', { fullPage: true });
  await page.getByRole('button', { name: 'Start the clock for rework' }).click();
  await page.waitForTimeout(1200);
  await page.getByRole('button', { name: /^Stop/ }).click();
  await page.getByText('noted.').waitFor();

  // without a network: noted here, judged when it is back
  await context.setOffline(true);
  await fill(pieces[0].limits);
  await verdict.getByText('Noted here').waitFor();
  await page.getByText('Dye lot and certificates').click();
  await page.getByLabel('What it says').fill('lot 4711');
  await page.getByRole('button', { name: 'Keep it' }).click();
  await page.getByText('2 kept here until the network is back').waitFor();
  await shot(page, 'leaving-offline', { fullPage: true });
  await context.setOffline(false);
  await verdict.getByText('passes.').waitFor();
  await page.getByText('all sent').waitFor();
  await page.getByRole('button', { name: 'Next' }).click();
  await page.getByRole('heading', { name: `${pieces[1].label}: look at it` }).waitFor();
  expect('the next piece begins with empty fields', (await page.getByLabel('One diagonal').inputValue()) === '');
  await fill(pieces[1].limits);
  await verdict.getByText('passes.').waitFor();
  const sheet = await ask(server, `api/jobs/${id}/inspections`);
  expect('each look is kept once, the misread tape not at all', sheet.pieces[0].inspected === 2 && sheet.pieces[1].inspected === 1, JSON.stringify(sheet));
  expect('every piece has passed', sheet.waiting === 0, JSON.stringify(sheet));
  expect('rework is counted with its cause', sheet.rework.length === 1 && sheet.rework[0].cause === 'square' && sheet.rework[0].station === 'drill_screw', JSON.stringify(sheet.rework));
  expect('a dye lot is kept with its piece', sheet.pieces[0].certificates.some((one) => one.says === 'lot 4711') && sheet.pieces[1].certificates.length === 0, JSON.stringify(sheet.pieces));
  for (const [name, size] of Object.entries({ phone: { width: 390, height: 844 }, desktop: { width: 1366, height: 860 } })) {
    await page.setViewportSize(size);
    await wide_enough(page, `before it leaves, ${name}`);
    await shot(page, `leaving-${name}`, { fullPage: true });
  }
  await set_theme(page, 'dark');
  await look_for_barriers(page, 'before it leaves, dark');
  await shot(page, 'leaving-dark', { fullPage: true });
  await context.close();
}

async function list(page, server, id) {
  const state = async () => (await ask(server, 'api/jobs')).find((one) => one.id === id).state;
  await page.goto(`${server.address}#/`);
  const title = (await ask(server, 'api/jobs')).find((one) => one.id === id).title;
  await page.getByRole('button', { name: `${title} is done` }).waitFor();
  await tab_to(page, `${title} is done`);
  await page.keyboard.press('Enter');
  await page.getByText(`${title} is done.`, { exact: true }).waitFor();
  expect('the office closes a job', (await state()) === 'done', await state());
  expect('what is done is out of the way', (await page.locator('.jobs').getByText(title).count()) === 0);
  await page.getByLabel('Show').selectOption('done');
  await page.locator('.jobs').getByText(title).waitFor();
  await look_for_barriers(page, 'the list, done');
  await shot(page, 'list-done');
  await set_theme(page, 'dark');
  await page.setViewportSize({ width: 390, height: 844 });
  await look_for_barriers(page, 'the list, done, phone, dark');
  await wide_enough(page, 'the list, done, phone');
  await set_theme(page, 'light');
  await page.setViewportSize({ width: 1366, height: 860 });
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText('Nothing of that kind').waitFor();
  expect('closing is taken back', (await state()) !== 'done', await state());
  await page.getByLabel('Show').selectOption('all');
  for (const order of ['date', 'customer', 'change', 'state']) await page.getByLabel('In order of').selectOption(order);
  await page.locator('.jobs').getByText(title).waitFor();
  await page.getByLabel('Show').selectOption('open');
}
