// From hand to curve: a piece is dragged along its wall in a browser, on the program's own server, and
// each answer that changes the decay and the response on the screen is timed against the move of the hand that
// it answers. Then how long the page takes to load, cold and kept.
// Usage: node bench/page/drag.mjs [--moves N]     (the program and its page must be built)
// Environment: ROOMWRIGHT the program; ROOMWRIGHT_KEPT where long solutions are kept; CHROMIUM.
import { open_browser, open_page, post, start_server } from '../../tests/browser/common.mjs';

const moves = process.argv.includes('--moves') ? Number(process.argv[process.argv.indexOf('--moves') + 1]) : 400;
const server = await start_server({ real: true });
const browser = await open_browser();
function told(name, times) {
  const sorted = times.toSorted((a, b) => a - b);
  const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))]?.toFixed(0) ?? '-';
  console.log(`${name}: ${sorted.length} times, median ${at(0.5)} ms, 90 % within ${at(0.9)} ms, 95 % within ${at(0.95)} ms, longest ${at(1)} ms`);
}
try {
  const made = await (await post(server, 'api/jobs', { start: 'demo', token: 'bench drag' })).json();
  const context = await browser.newContext({ viewport: { width: 1366, height: 1200 }, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  page.setDefaultTimeout(400000);
  const job_address = `${server.address}#/job/${encodeURIComponent(made.id)}`;
  await page.goto(job_address);
  await page.locator('#proof table').waitFor();
  await page.evaluate(() => {
    globalThis.times = { decay: [], response: [], wrong: [], first: {} };
    const asked = new Map();
    // two frames on, what arrived is drawn; a decay that did not change draws nothing, so that the
    // change of a curve itself cannot be waited for
    const drawn = (what, number) => requestAnimationFrame(() => requestAnimationFrame(() => {
      times[what].push(performance.now() - asked.get(number));
      times.first[what] ??= performance.now() - gripped;
    }));
    globalThis.notes = new Set();
    let moved = 0;
    addEventListener('pointermove', () => (moved = performance.now()), true);
    const real = fetch;
    globalThis.fetch = async (path, options) => {
      if (!String(path).endsWith('/draft')) return real(path, options);
      asked.set(JSON.parse(options.body).number, moved);
      const answer = await real(path, options);
      const [mine, theirs] = answer.body.tee();
      void (async () => {
        const reader = mine.pipeThrough(new TextDecoderStream()).getReader();
        let rest = '';
        for (;;) {
          const { done, value } = await reader.read().catch(() => ({ done: true }));
          if (done) return;
          const lines = (rest + value).split('\n');
          rest = lines.pop();
          for (const line of lines.filter(Boolean)) {
            const part = JSON.parse(line);
            if (part.decay) drawn('decay', part.number);
            if (part.bass?.levels.length > 0) drawn('response', part.number);
            if (part.note) notes.add(part.note);
            if (part.errors) times.wrong.push(JSON.stringify(part.errors));
          }
        }
      })();
      return new Response(theirs, { status: answer.status, headers: answer.headers });
    };
  });
  const body = page.locator('#treatment g.piece[aria-label^="S2,"] .body').first();
  await body.scrollIntoViewIfNeeded();
  const box = await body.boundingBox();
  await page.mouse.move(box.x + 20, box.y + 40);
  await page.mouse.down();
  await page.evaluate(() => (globalThis.gripped = performance.now()));
  for (let k = 1; k <= moves; ++k) {
    await page.mouse.move(box.x + 20 - 60 * Math.sin(k / 12), box.y + 40 + 12 * Math.sin(k / 7));
    await page.waitForTimeout(50);
  }
  await page.waitForTimeout(1500);
  const times = await page.evaluate(() => ({ ...globalThis.times, notes: [...globalThis.notes] }));
  await page.keyboard.press('Escape');
  await page.mouse.up();
  console.log(`the piece is gripped; its first decay comes after ${times.first.decay?.toFixed(0)} ms, its first response after ${times.first.response?.toFixed(0)} ms`);
  told('from hand to changed decay on the screen', times.decay);
  told('from hand to changed response on the screen', times.response);
  for (const note of times.notes) console.log(`provisional: ${note}`);
  for (const wrong of new Set(times.wrong)) console.log(`refused: ${wrong}`);
  await context.close();

  const loads = { cold: [], again: [] };
  for (let k = 0; k < 8; ++k) {
    const fresh = await browser.newContext({ viewport: { width: 1366, height: 860 } });
    for (const what of ['cold', 'again']) {
      const one = await open_page(fresh, server);
      const begin = Date.now();
      await one.goto(server.address);
      await one.locator('.jobs li').first().waitFor();
      loads[what].push(Date.now() - begin);
      await one.close();
    }
    await fresh.close();
  }
  told('the page loads, cold', loads.cold);
  told('the page loads, again', loads.again);
} finally {
  await browser.close();
  await server.stop();
}
