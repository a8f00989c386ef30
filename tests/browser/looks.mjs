// Every part of the page at three sizes and in two themes: axe over each, nothing cut off at the side,
// and a picture of each to be looked at.
import { expect, look_for_barriers, open_page, shot, wide_enough } from './common.mjs';

const sizes = { desktop: [1366, 860], tablet: [820, 1180], phone: [390, 844] };
const stages = ['survey', 'findings', 'treatment', 'build', 'price', 'hang', 'proof'];
export const shop_pages = { jobs: '#/', calendar: '#/calendar', stock: '#/stock', times: '#/times', clients: '#/clients', devices: '#/devices', pairing: '#/pair/123456', 'survey-sheet': '#/survey-sheet' };

export async function looks(browser, server, job, { only = '' } = {}) {
  const docket = `#/job/${encodeURIComponent(job)}`;
  for (const [size, [width, height]] of Object.entries(sizes))
    for (const theme of ['light', 'dark']) {
      if (only && only !== size) continue;
      const context = await browser.newContext({ viewport: { width, height }, colorScheme: theme, hasTouch: size !== 'desktop', reducedMotion: 'reduce' });
      const page = await open_page(context, server);
      await page.goto(server.address + docket);
      await page.locator('#proof table').waitFor();
      await page.locator('#treatment .plot svg').first().waitFor();
      const where = `${size}, ${theme}`;
      await shot(page, `${size}-${theme}-top`);
      await page.evaluate(() => document.querySelectorAll('details').forEach((one) => (one.open = true)));
      await page.waitForTimeout(400);
      await look_for_barriers(page, `docket, all open, ${where}`);
      await wide_enough(page, `docket, all open, ${where}`);
      await page.evaluate(() => document.querySelectorAll('.head, .rail').forEach((one) => one.style.setProperty('display', 'none')));
      for (const stage of stages) {
        const clip = await page.locator(`#${stage}`).boundingBox();
        await shot(page, `${size}-${theme}-${stage}`, { fullPage: true, clip });
      }
      for (const mode of ['bench', 'site']) {
        await page.goto(`${server.address}${docket}/${mode}`);
        await page.locator('.figure').waitFor();
        await look_for_barriers(page, `${mode}, ${where}`);
        await wide_enough(page, `${mode}, ${where}`);
        await shot(page, `${size}-${theme}-${mode}`);
      }
      for (const [name, path] of Object.entries(shop_pages)) {
        await page.goto(server.address + path);
        await page.locator('h1').first().waitFor();
        if (name === 'calendar') await page.locator('svg, .fault').first().waitFor();
        if (name === 'devices') {
          const button = page.getByRole('button', { name: 'Ask for a code' });
          if (await button.isEnabled()) {
            await button.click();
            await page.locator('.digits').waitFor();
          }
        }
        await page.waitForTimeout(150);
        await look_for_barriers(page, `${name}, ${where}`);
        await wide_enough(page, `${name}, ${where}`);
        await shot(page, `${size}-${theme}-${name}`, { fullPage: true });
      }
      await page.goto(`${server.address}#/stock`);
      const book = page.locator('a[href^="#/shop/"]').first();
      await book.waitFor();
      await book.click();
      await page.getByRole('heading', { name: 'Terms' }).waitFor();
      await look_for_barriers(page, `price book, ${where}`);
      await wide_enough(page, `price book, ${where}`);
      await shot(page, `${size}-${theme}-price-book`, { fullPage: true });
      await context.close();
    }
  expect('every part was looked at', true);
}
