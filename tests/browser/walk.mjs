// Walks through the page as three people: the office with the keyboard alone, two benches, the site
// with a phone. Then what only hands can show, and every part at three sizes in two themes with axe
// over each; pictures go to build/web/shots.
// Usage: node tests/browser/walk.mjs [--short] [--real] [--only office|people|orders|measured|roles|tries|hands|looks] [--size NAME]
//   --short  the three people alone, on a small job: for every check
//   --real   walks on `roomwright serve` with a store of its own, not on the stand-in server
// Environment: ROOMWRIGHT the program; CHROMIUM the browser.
import { bench } from './bench.mjs';
import { ask, count, expect, open_browser, open_page, post, start_server } from './common.mjs';
import { hands } from './hands.mjs';
import { looks } from './looks.mjs';
import { measured } from './measured.mjs';
import { office } from './office.mjs';
import { orders } from './orders.mjs';
import { roles } from './roles.mjs';
import { site } from './site.mjs';
import { tries } from './tries.mjs';

const has = (name) => process.argv.includes(`--${name}`);
const value = (name) => (has(name) ? process.argv[process.argv.indexOf(`--${name}`) + 1] : '');
const short = has('short');
const only = value('only');
const wants = (part) => only === '' ? !short || part === 'people' || part === 'orders' : only === part || (only === 'office' && part === 'people');

const begin = Date.now();
const server = await start_server({ real: has('real') });
const browser = await open_browser();
try {
  if (wants('people')) {
    const job = await office(browser, server, { short });
    if (only !== 'office') {
      await bench(browser, server, job);
      await site(browser, server, job, { short });
    }
  }
  if (wants('orders')) await orders(browser, server);
  if (only === 'measured') await measured(browser, server);
  if (wants('roles') && has('real')) await roles(browser);
  if (wants('tries')) await tries(browser, server);
  if (wants('hands') || wants('looks')) {
    const made = await (await post(server, 'api/jobs', { start: 'demo', token: `walk ${Math.random()}` })).json();
    const context = await browser.newContext();
    const page = await open_page(context, server);
    page.setDefaultTimeout(400000);
    await page.goto(`${server.address}#/job/${encodeURIComponent(made.id)}`);
    await page.locator('#proof table').waitFor();
    expect('the demo has all seven stages', (await ask(server, 'api/jobs')).some((one) => one.id === made.id));
    await context.close();
    if (wants('hands')) {
      await site(browser, server, made.id, { short, example: 'control_room' });
      await hands(browser, server, made.id);
    }
    await measured(browser, server, made.id);
    if (wants('looks')) await looks(browser, server, made.id, { only: value('size') });
  }
} catch (wrong) {
  expect('the walk comes to its end', false, wrong.stack ?? String(wrong));
} finally {
  await browser.close();
  await server.stop();
}
console.log(`the walk took ${((Date.now() - begin) / 1000).toFixed(0)} s`);
console.log(`\n${count.passed} passed, ${count.failed} failed`);
process.exit(count.failed === 0 ? 0 : 1);
