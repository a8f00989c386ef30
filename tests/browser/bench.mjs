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

  // the network goes; the saw is set up, which is timed, may be ticked, and counts for no step
  await one.evaluate(() => navigator.serviceWorker?.ready);
  await contexts[0].setOffline(true);
  expect('the bench begins with the set-up of the saw', (await step_title(one)) === 'Set up the saw', await step_title(one));
  await shot(one, 'bench-set-up');
  await one.getByRole('button', { name: 'Start the clock' }).click();
  await one.waitForTimeout(1200);
  await tick(one);
  await one.getByText('kept here until the network is back').waitFor();
  expect('a set-up turns to the first cut, and is none of the steps', (await one.locator('.where').textContent()).includes(': 0 of'), await one.locator('.where').textContent());
  await one.getByRole('button', { name: 'Take it back' }).click();
  expect('the tick of a set-up can be taken back', (await step_title(one)) === 'Set up the saw' && !(await one.locator('.tick input').isChecked()));
  await one.getByRole('button', { name: 'Next' }).click();

  // work goes on
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

  // meanwhile the other bench, which sets nothing up, ticks a step of its own and the same first one
  await two.getByRole('button', { name: 'Next' }).click();
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
  expect('ticks of two benches are all there, none twice', ticks.filter((tick) => tick.body.step !== 'set_up.saw').length === 4 && ticks.length === 6, JSON.stringify(ticks.map((tick) => tick.body)));
  expect('the time of a step is noted once', times.length === 2 && times.every((time) => time.body.minutes > 0.01), JSON.stringify(times));
  expect('the set-up has its own time', times[0].body.step === 'set_up.saw' && times[0].body.station === 'saw', JSON.stringify(times[0]));
  if (server.real) {
    const rows = (await ask(server, 'api/times')).flatMap((shop) => shop.rows);
    const set_up = rows.filter((row) => row.key === 'set_up.saw' && row.logs > 0);
    expect('the set-up is counted under the time standards of the shop', set_up.length === 1 && set_up[0].logs === 1, JSON.stringify(rows.filter((row) => row.logs > 0)));
    await two.goto(`${server.address}#/times`);
    await two.getByText('set up: saw').waitFor();
    await shot(two, 'times-set-up');
    await two.goto(address);
    await two.locator('.figure').waitFor();
  }
  const done = new Set(ticks.filter((tick) => tick.body.done && tick.body.step !== 'set_up.saw').map((tick) => tick.body.step));
  await one.waitForFunction((count) => document.querySelector('.where').textContent.includes(`${count} of`), done.size);
  await two.waitForFunction((count) => document.querySelector('.where').textContent.includes(`${count} of`), done.size);
  expect('both benches see the same ticks', true);
  await shot(two, 'bench-two');
  for (const context of contexts) await context.close();
}
