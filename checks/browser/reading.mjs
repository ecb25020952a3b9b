// Reading a micrometer: step by step with the keys, two drawings to choose from, a round of practice.

import { SIZES, follow, inTime, listen, rest, typingIn } from './browser.mjs';
import { typingGoesTo } from './looks.mjs';
import { inspect } from './pages.mjs';

const HELPER = '/jobs/1012/measure/read?spot=main-5.rear.b';
const ROUND = '/practice?type=0.0001in&round=5&near=4';

/** States that no link leads to at first. */
export const READING_PAGES = [
  '/practice',
  ...[1, 2, 3, 4, 5].map((step) => `${HELPER}&step=${step}&sleeve=8&lines=2&thimble=12&vernier=4`),
  ...[3, 5].map((step) => `${HELPER}&step=${step}&sleeve=8&lines=2&thimble=23&vernier=4`),
  ...['0.001in', '0.0001in', '0.01mm', '0.001mm'].map((type) => `/practice?type=${type}&round=5&near=4`),
  // Ten misses, and the result after them.
  `${ROUND}&a=1.0000`,
  `${ROUND}${'&a=1.0000'.repeat(10)}&on=1`,
];

/** Pages that come back because what was typed cannot be. */
const REFUSED = [`${HELPER}&step=3&sleeve=4&lines=44&thimble=0&vernier=0`, `${ROUND}&answer=two`];

export async function readingByHand(report, browser, server, screens) {
  const context = await browser.newContext({ viewport: SIZES.desk });
  const page = await context.newPage();
  let state = '';
  listen(report, page, () => state);
  const expect = (holds, what, says = '') => {
    report.looked('steps of reading a micrometer');
    if (!holds) report.fault(state, 'desk', 'reading a micrometer', what, says);
  };
  const sum = () => page.locator('#read output').innerText();
  for (const path of REFUSED) {
    state = `${path} (refused)`;
    await page.goto(server.address + path);
    await rest(page);
    expect((await page.title()).startsWith('Error: '), 'title', await page.title());
    await inspect(report, page, state, screens);
  }

  state = 'help me read it, with the keys';
  await page.goto(`${server.address}/jobs/1012/measure?spot=main-4.front.a`);
  await follow(page, () => page.click('#helper'));
  // Arrow keys count up and down, and the box keeps the focus.
  for (let n = 0; n < 3; n += 1) {
    const before = await sum();
    await page.keyboard.press('ArrowUp');
    await page.waitForFunction((was) => document.querySelector('#read output').innerText !== was, before);
  }
  expect(await page.inputValue('#count') === '3', 'arrow up counts one more');
  expect(await page.evaluate(() => document.activeElement.id) === 'count', 'the box keeps the focus');
  await page.keyboard.press('ArrowDown');
  await page.waitForFunction(() => document.getElementById('count').value === '2');
  // The buttons too, and they keep theirs.
  await page.click('#more');
  await page.waitForFunction(() => document.getElementById('count').value === '3');
  expect(await page.evaluate(() => document.activeElement.id) === 'more', 'the button keeps the focus');
  await page.click('#less');
  await page.waitForFunction(() => document.getElementById('count').value === '2');
  for (const digits of ['1', '0', '22', '4']) {
    await page.fill('#count', digits);
    const was = page.url();
    await page.keyboard.press('Enter');
    await page.waitForURL((url) => url.href !== was);
    await rest(page);
  }
  expect((await sum()).replace(/\s/g, ' ') === '2 + 0.1 + 0.000 + 0.022 + 0.0004 = 2.1224 in', 'the sum', await sum());
  await follow(page, () => page.click('text=Use this reading: 2.1224 in'));
  const says = await page.locator('#last').innerText();
  expect(says.includes('2.1224 saved at Main 4, front, across A'), 'the reading goes to its spot', says);

  state = 'which looks like yours';
  await page.goto(`${server.address}/jobs/1012/measure?spot=main-5.rear.b`);
  expect(await page.locator('.flag svg').count() === 2, 'two drawings');
  await page.click('text=Neither: measure again');
  const focus = await inTime(() => page.evaluate(() => document.activeElement.id), (id) => id === 'reading', 15_000);
  expect(focus === 'reading', 'neither goes to the box', focus);
  // Typed figures stay where they are while the drawings are looked at.
  await page.fill('#reading', '2.1');
  const other = page.locator('.flag form:has(input[name=reading]) button');
  await follow(page, () => other.click());
  // The last spot of the mains: the page asks for the other micrometer, and says what came of it.
  const chosen = await page.locator('main').innerText();
  expect(chosen.includes('2.1246 saved at Main 5, rear, across B'), 'the other one takes its place', chosen);

  state = 'practice';
  await page.goto(server.address + ROUND);
  for (let question = 1; question <= 10; question += 1) {
    await typingIn(page, typingGoesTo);
    await page.keyboard.type('2.1000');
    await follow(page, () => page.keyboard.press('Enter'));
    await page.waitForSelector('#missed, #result, .fault, [role=status]');
    const range = await page.locator('.fault').count();
    // The other micrometer of the round: a size of its range.
    if (range) {
      await page.fill('#answer', '1.1000');
      await follow(page, () => page.keyboard.press('Enter'));
      await page.waitForSelector('#missed, #result');
    }
    if (await page.locator('#missed').count()) await follow(page, () => page.click('text=/Next question|To the result/'));
  }
  expect(/ of 10\./.test(await page.locator('#result').innerText()), 'the result');
  await context.close();
}
