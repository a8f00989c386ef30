// A tablet and a phone of the local network: paired by six digits, they see what their role may and
// nothing else; taken out, they are at the pairing screen again. On the program's own server alone.
import { ask, expect, look_for_barriers, open_page, post, shot, start_server, wide_enough } from './common.mjs';

async function code_for(page, role) {
  await page.getByLabel('It may be').selectOption(role);
  await page.getByRole('button', { name: 'Ask for a code' }).click();
  await page.locator('.digits').waitFor();
  return (await page.locator('.digits').textContent()).replaceAll(' ', '');
}

export async function roles(browser) {
  const server = await start_server({ real: true, lan: true });
  try {
    if (!server.lan) {
      console.log('this machine has no address on a network: devices were not walked');
      return;
    }
    const made = await (await post(server, 'api/jobs', { start: 'demo', token: 'roles' })).json();
    const office = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
    const desk = await open_page(office, server);
    await desk.goto(`${server.address}#/devices`);
    await desk.getByRole('heading', { name: 'Devices' }).waitFor();
    const code = await code_for(desk, 'bench');
    expect('the code has six digits', /^\d{6}$/.test(code), code);
    await look_for_barriers(desk, 'devices with a code');
    await shot(desk, 'devices-code');

    const bench = await browser.newContext({ viewport: { width: 820, height: 1180 }, ignoreHTTPSErrors: true, reducedMotion: 'reduce' });
    const tablet = await open_page(bench, { address: server.lan });
    await tablet.goto(server.lan);
    await tablet.getByRole('heading', { name: 'Pair this device' }).waitFor();
    await look_for_barriers(tablet, 'pairing');
    await wide_enough(tablet, 'pairing');
    const wrong = String((Number(code) + 1) % 1000000).padStart(6, '0');
    await tablet.getByLabel('Code').fill(wrong);
    await tablet.getByLabel('What this device is called').fill('tablet at the bench');
    await tablet.getByRole('button', { name: 'Pair' }).click();
    await tablet.waitForFunction(() => document.querySelector('[role=alert]')?.textContent.trim() !== '');
    expect('a wrong code is told', (await tablet.getByRole('alert').textContent()).length > 10);
    await shot(tablet, 'pairing-wrong');
    // the link that the code to scan holds fills it in
    await tablet.goto(`${server.lan}#/pair/${code}`);
    await tablet.reload();
    expect('the scanned link fills the code in', (await tablet.getByLabel('Code').inputValue()) === code);
    await tablet.getByLabel('What this device is called').fill('tablet at the bench');
    await tablet.getByRole('button', { name: 'Pair' }).click();
    await tablet.getByRole('heading', { name: 'Which job is on the bench?' }).waitFor();
    await look_for_barriers(tablet, 'jobs, as the bench sees them');
    await shot(tablet, 'bench-jobs');
    const tabs = await tablet.locator('nav a').allTextContents();
    expect('a bench sees no clients and no devices', !tabs.includes('Clients') && !tabs.includes('Devices'), tabs.join(' '));
    await desk.getByText('tablet at the bench').first().waitFor();
    expect('the office sees the new device', (await desk.locator('table').textContent()).includes('bench'));

    const price = await tablet.evaluate((id) => fetch(`/api/jobs/${id}/stages/price`).then((answer) => answer.status), made.id);
    expect('a bench is told no prices', price === 403, String(price));
    const build = await tablet.evaluate((id) => fetch(`/api/jobs/${id}/stages/build`).then((answer) => answer.text()), made.id);
    expect('a bench is told no cost of material', build.includes('"sticks"') && !build.includes('"cost"'), build.slice(0, 200));
    await tablet.locator('.jobs a').first().click();
    await tablet.locator('.figure').waitFor();
    await tablet.locator('.tick').click();
    await tablet.getByText('all sent').waitFor();
    const ticks = await ask(server, `api/journals/ticks?after=0&document=${made.id}`);
    expect('a tick says which device made it', ticks.at(-1)?.who === 'tablet at the bench', JSON.stringify(ticks.at(-1)));
    await shot(tablet, 'bench-paired');

    const site_code = await code_for(desk, 'site');
    const site = await browser.newContext({ viewport: { width: 390, height: 844 }, ignoreHTTPSErrors: true, reducedMotion: 'reduce' });
    const phone = await open_page(site, { address: server.lan });
    await phone.goto(`${server.lan}#/pair/${site_code}`);
    await phone.getByLabel('What this device is called').fill('phone on site');
    await phone.getByRole('button', { name: 'Pair' }).click();
    await phone.getByRole('heading', { name: 'Which job is being hung?' }).waitFor();
    await phone.locator('.jobs a').first().click();
    await phone.locator('.figure').waitFor();
    expect('a site device comes to where the first piece hangs', (await phone.locator('.where').textContent()).includes('Site'));
    await wide_enough(phone, 'site, paired');

    await desk.getByRole('button', { name: /Take tablet at the bench out/ }).click();
    await desk.getByRole('button', { name: /Yes, take/ }).click();
    await desk.getByText('is out').waitFor();
    await tablet.getByRole('heading', { name: 'Pair this device' }).waitFor({ timeout: 8000 });
    expect('a device that was taken out is told at once, without being touched', true);
    await tablet.goto(server.lan);
    await tablet.reload();
    await tablet.getByRole('heading', { name: 'Pair this device' }).waitFor();
    expect('a device that was taken out is at the pairing screen again', true);
    for (const context of [office, bench, site]) await context.close();
  } finally {
    await server.stop();
  }
}
