// What must be seen without scrolling, how large the reading stands, and the keys for fingers.

import { SIZES, answered, follow, inTime, judged, listen, resize, rest } from './browser.mjs';
import { firstView } from './looks.mjs';
import { spotNow } from './walk.mjs';

/** CSS px to the inch of a tablet and of a telephone, and how high a key must be on each. */
const TABLET_PPI = 149;
const PHONE_PPI = 160;
const KEY_MM = { bench: 18, phone: 13 };

/** Opens a job from the list by its one button, and looks at the first view. */
export async function glance(report, browser, server) {
  const context = await browser.newContext({ viewport: SIZES.desk });
  const page = await context.newPage();
  listen(report, page);
  const see = async (state, size, elements) => {
    // At one stroke: the verdict may be drawn anew between two questions.
    const hidden = await page.evaluate(`(${firstView})((${elements})())`);
    report.looked('first views');
    for (const what of hidden) report.fault(state, size, 'not in the first view', what);
  };
  for (const [sizeName, size] of [['desk', SIZES.desk], ['bench', SIZES.bench], ['tablet', SIZES.tablet]]) {
    await page.goto(`${server.address}/jobs/1011/measure`);
    await rest(page);
    await resize(page, size);
    const now = await spotNow(page);
    await now.box.fill('79.961');
    await now.box.press('Enter');
    await page.getByText(/79.961 (saved|is kept)/).first().waitFor();
    await answered(page);
    await page.evaluate(() => scrollTo(0, 0));
    await see('/jobs/1011/measure', sizeName, () => {
      const box = [...document.querySelectorAll('input')].find((one) => /across [AB]/.test([...(one.labels ?? [])].map((label) => label.innerText).join(' ')));
      const aside = document.querySelector('aside');
      return [['the box', box], ['the last result', document.querySelector('[role=status]')], ['the heading of the verdict', aside && aside.querySelector('h2')]];
    });
    const reading = await page.evaluate(() => {
      const box = [...document.querySelectorAll('input')].find((one) => /across [AB]/.test([...(one.labels ?? [])].map((label) => label.innerText).join(' ')));
      return box ? parseFloat(getComputedStyle(box).fontSize) / parseFloat(getComputedStyle(document.documentElement).fontSize) : 0;
    });
    if (reading < 3.24) report.fault('/jobs/1011/measure', sizeName, 'the reading is too small', 'the box', `${reading} rem, at least 3.25`);
    // From the list: one action, and the verdict is there.
    await page.goto(`${server.address}/jobs`);
    await resize(page, size);
    await follow(page, () => page.getByRole('link', { name: 'Decide job 1009' }).click());
    await judged(page);
    await resize(page, size);
    await see('/jobs/1009/verdict', sizeName, () => [['the heading of the ladder', document.querySelector('main section h2')], ['the first rung', document.querySelector('main section li')]]);
  }
  await context.close();

  for (const [name, viewport, ppi, mm] of [['phone', { width: 360, height: 740 }, PHONE_PPI, KEY_MM.phone], ['bench', { width: 1280, height: 800 }, TABLET_PPI, KEY_MM.bench]]) {
    const touch = await browser.newContext({ viewport, hasTouch: true, isMobile: name === 'phone' });
    const page = await touch.newPage();
    await page.goto(`${server.address}/jobs/1011/measure`);
    await rest(page);
    await page.evaluate((type) => { document.documentElement.className = `size-${type}`; }, name === 'bench' ? 'bench' : 'desk');
    const keys = await page.evaluate(() => [...document.querySelectorAll('button')].filter((button) => /^[0-9.]$/.test(button.textContent.trim()) && button.getClientRects().length).map((button) => {
      const { width, height } = button.getBoundingClientRect();
      return [button.textContent, width, height];
    }));
    const least = (mm / 25.4) * ppi;
    report.looked('keys for fingers', keys.length);
    if (keys.length < 11) report.fault('/jobs/1011/measure', name, 'no keys for fingers', 'pad', `${keys.length} keys`);
    for (const [key, width, height] of keys) {
      if (Math.min(width, height) < least - 1) report.fault('/jobs/1011/measure', name, 'key too small for a finger', `key ${key}`, `${Math.round(width)} × ${Math.round(height)} px, at least ${Math.round(least)}`);
    }
    // The system's own keyboard stays away, and a key rubs out as it writes.
    const box = page.getByRole('textbox', { name: /across [AB]/ }).first();
    if ((await box.getAttribute('inputmode')) !== 'none') report.fault('/jobs/1011/measure', name, 'the system keyboard covers the page', 'the box');
    for (const key of ['7', '9', '.', '9']) await page.getByRole('button', { name: key, exact: true }).tap();
    // A tap is told as done before the click that follows from it.
    const becomes = (wanted) => inTime(() => box.inputValue(), (value) => value === wanted, 15_000);
    const written = await becomes('79.9');
    if (written !== '79.9') report.fault('/jobs/1011/measure', name, 'keys for fingers do not write', 'pad', written);
    await page.getByRole('button', { name: 'Rub out' }).tap();
    const rubbed = await becomes('79.');
    if (rubbed !== '79.') report.fault('/jobs/1011/measure', name, 'a key does not rub out', 'pad', rubbed);
    await touch.close();
  }
}
