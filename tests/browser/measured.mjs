// Recordings before and after hanging: put in at the survey and at the proof, drawn together, with what
// they say; a file that is none is told.
import { ask, expect, look_for_barriers, open_page, post, set_theme, shot, wide_enough } from './common.mjs';

/** 16 bits, one channel: noise that loses 60 dB in so many seconds, above steady noise. */
export function recording(seconds, noise_db) {
  const rate = 48000;
  let state = 1234567;
  const noise = () => {
    let sum = 0;
    for (let k = 0; k < 4; ++k) {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      sum += state / 2 ** 32 - 0.5;
    }
    return sum;
  };
  const count = Math.round(1.6 * rate);
  const samples = Array.from({ length: count }, (_, i) => {
    const t = i / rate - 0.1;
    return 10 ** (noise_db / 20) * noise() + (t >= 0 ? noise() * 10 ** ((-3 * t) / seconds) : 0);
  });
  const peak = samples.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
  const bytes = Buffer.alloc(44 + 2 * count);
  bytes.write('RIFF', 0);
  bytes.writeUInt32LE(36 + 2 * count, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(rate, 24);
  bytes.writeUInt32LE(2 * rate, 28);
  bytes.writeUInt16LE(2, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36);
  bytes.writeUInt32LE(2 * count, 40);
  samples.forEach((one, i) => bytes.writeInt16LE(Math.round((one / peak) * 32000), 44 + 2 * i));
  return bytes;
}
const file = (name, buffer) => ({ name, mimeType: 'audio/wav', buffer });

export async function measured(browser, server, given) {
  if (!server.real) return;
  const job = given ?? (await (await post(server, 'api/jobs', { start: 'room', title: 'Measured room', use: 'mixing', units: 'mm', size: [4800, 3600, 2500], token: `measured ${Math.random()}` })).json()).id;
  const context = await browser.newContext({ viewport: { width: 1366, height: 860 }, reducedMotion: 'reduce' });
  const page = await open_page(context, server);
  page.setDefaultTimeout(400000);
  await page.goto(`${server.address}#/job/${encodeURIComponent(job)}`);
  await page.locator('#proof table').waitFor();

  // before, at the survey
  await page.getByText('A recording of the room before anything hangs').click();
  const survey = page.locator('#survey');
  const choose = (where, label) => where.getByLabel(`${label}: choose a file`);
  await choose(survey, 'Before hanging').setInputFiles(file('letter.txt', Buffer.from('a letter')));
  await survey.getByText('letter.txt is no WAV or FLAC file').waitFor();
  await choose(survey, 'Before hanging').setInputFiles(file('before.wav', recording(0.8, -65)));
  await survey.getByRole('link', { name: 'before.wav' }).waitFor();
  await look_for_barriers(page, 'a recording at the survey');
  const proof = page.locator('#proof');
  await proof.getByText('Measured before hanging, the room rings for').waitFor();

  // after, at the proof: one that is damaged first, then one that holds
  await choose(proof, 'After hanging').setInputFiles(file('broken.wav', Buffer.from('RIFF0000WAVE nothing')));
  await proof.getByText('The recording after hanging says nothing').waitFor();
  await choose(proof, 'After hanging').setInputFiles(file('after.wav', recording(0.32, -48)));
  await proof.getByText('before hanging it rang for').waitFor();
  await proof.getByText(/octaves that could be measured are within/).first().waitFor();
  const { before, after, statements } = await ask(server, `api/jobs/${encodeURIComponent(job)}/measured`);
  const t20 = (side) => side.bands.find((one) => one.hz === 1000).t20_s.value;
  expect('what was recorded is what is told', Math.abs(t20(before) - 0.8) < 0.1 && Math.abs(t20(after) - 0.32) < 0.06, `${t20(before)} ${t20(after)}`);
  expect('both are drawn in one picture', (await proof.locator('.plot').first().locator('circle.before').count()) >= 5 && (await proof.locator('.plot').first().locator('circle.after').count()) >= 4);
  expect('each sentence of the program stands on the page', (await proof.textContent()).includes(statements[0].sentence));
  await look_for_barriers(page, 'proof, measured');
  await proof.scrollIntoViewIfNeeded();
  for (const [size, [width, height]] of Object.entries({ desktop: [1366, 860], tablet: [820, 1180], phone: [390, 844] })) {
    await page.setViewportSize({ width, height });
    await set_theme(page, size === 'tablet' ? 'dark' : 'light');
    await look_for_barriers(page, `proof, measured, ${size}`);
    await page.waitForTimeout(300);
    await wide_enough(page, `proof, measured, ${size}`);
    const hide = (how) => page.evaluate((display) => document.querySelectorAll('.head, .rail').forEach((one) => one.style.setProperty('display', display)), how);
    await hide('none');
    const box = await proof.boundingBox();
    const scrolled = await page.evaluate(() => scrollY);
    await shot(page, `measured-${size}`, { fullPage: true, clip: { ...box, y: box.y + scrolled } });
    await hide('');
  }
  await context.close();
}
