// The bench: steps are ticked and timed while the network is gone, and sent when it is back; two
// benches at once lose nothing; where the address is secure the page itself opens without a network.
import { ask, expect, look_for_barriers, open_page, shot, wide_enough } from './common.mjs';

const step_title = (page) => page.locator('h1').textContent();
const tick = (page) => page.locator('.tick').click();

export async function bench(browser, server, job) {
  const address = `${server.address}#/job/${encodeURIComponent(job)}/bench`;
  const tablet = () => browser.newContext({ viewport: { width: 820, height: 1180 }, hasTouch: true, reducedMotion: 'reduce' });
  const contexts = [await tablet(), await tablet()];
  const pages = [];
  for (const context of contexts) {
    const page = await open_page(context, server);
    await page.goto(address);
    await page.locator('.figure').waitFor();
    pages.push(page);
  }
  const [one, two] = pages;
  await look_for_barriers(one, 'bench');
  await wide_enough(one, 'bench');
  const before = (await ask(server, `api/journals/ticks?after=0&document=${encodeURIComponent(job)}`)).length;

  // the network goes, work goes on
  await one.evaluate(() => navigator.serviceWorker?.ready);
  await contexts[0].setOffline(true);
  const first = await step_title(one);
  await one.getByRole('button', { name: 'Start the clock' }).click();
  await one.waitForTimeout(1200);
  await tick(one);
  await one.getByText('kept here until the network is back').waitFor();
  expect('a tick turns to the next step', (await step_title(one)) !== first);
  expect('a tick can be taken back', await one.getByRole('button', { name: 'Take it back' }).isVisible());
  await tick(one);
  await shot(one, 'bench-offline');

  // the page is closed and opened again, still without a network
  await one.reload();
  await one.locator('.figure').waitFor();
  await one.getByText('kept here until the network is back').waitFor();
  expect('the page opens without a network and keeps what waits', (await one.locator('.where').textContent()).includes('2 of'), await one.locator('.where').textContent());

  // meanwhile the other bench ticks a step of its own and the same first one
  await tick(two);
  await two.getByText('all sent').waitFor();
  await two.getByRole('button', { name: 'Next' }).click();
  await two.getByRole('button', { name: 'Next' }).click();
  await tick(two);
  await two.getByText('all sent').waitFor();

  await contexts[0].setOffline(false);
  await one.getByText('all sent').waitFor();
  const ticks = (await ask(server, `api/journals/ticks?after=0&document=${encodeURIComponent(job)}`)).slice(before);
  const times = await ask(server, `api/journals/time?after=0&document=${encodeURIComponent(job)}`);
  expect('ticks of two benches are all there, none twice', ticks.length === 4, JSON.stringify(ticks.map((tick) => tick.body)));
  expect('the time of a step is noted once', times.length === 1 && times[0].body.minutes > 0.01, JSON.stringify(times));
  const done = new Set(ticks.filter((tick) => tick.body.done).map((tick) => tick.body.step));
  await one.waitForFunction((count) => document.querySelector('.where').textContent.includes(`${count} of`), done.size);
  await two.waitForFunction((count) => document.querySelector('.where').textContent.includes(`${count} of`), done.size);
  expect('both benches see the same ticks', true);
  await shot(two, 'bench-two');
  for (const context of contexts) await context.close();
}
