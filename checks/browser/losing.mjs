// Nothing keyed is lost, and nothing is kept twice: gauges that type, the line that goes, the program that dies, two
// people at one spot. What counts is what the record holds afterwards.

import { execFileSync } from 'node:child_process';
import { answered, inTime, listen, typingIn } from './browser.mjs';
import { Gauge } from './gauge.mjs';
import { typingGoesTo } from './looks.mjs';
import { Plain } from './plain.mjs';
import { worn } from './readings.mjs';
import { bookIn, spotNow } from './walk.mjs';

const HAND_MS = 120;

/** The readings of a job, as the record exports them: how many rows there are at each spot. */
function recorded(server, job) {
  const sheet = execFileSync(server.program, ['export', job, '--record', server.place], { encoding: 'utf8' });
  const spots = new Map();
  for (const [, row] of sheet.matchAll(/\{([^{}]*journal = [^{}]*)\}/g)) {
    const at = ['journal', 'at', 'plane'].map((key) => row.match(new RegExp(`\\b${key} = "?([^",}]+)`))?.[1]?.trim()).join(' ');
    if (/\bsize = /.test(row)) spots.set(at, (spots.get(at) ?? 0) + 1);
  }
  for (const table of sheet.split('[[reading]]').slice(1)) {
    const row = table.split(/\n\[/)[0];
    const at = ['journal', 'at', 'plane'].map((key) => row.match(new RegExp(`\\b${key} = "?([^"\\n]+)`))?.[1]?.trim()).join(' ');
    spots.set(at, (spots.get(at) ?? 0) + 1);
  }
  return { all: [...spots.values()].reduce((sum, n) => sum + n, 0), spots };
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** Waits until the record holds so many readings and the page has no more to send; says how many there are in the end. */
async function until(server, job, wanted, page) {
  await inTime(() => recorded(server, job), (held) => held.all >= wanted);
  // One too many would still be on its way.
  await answered(page);
  await pause(300);
  return recorded(server, job);
}

/** Waits until the box is for another spot, or for the same one again. */
async function onward(page, label) {
  return inTime(() => spotNow(page).then((now) => (now && now.label !== label ? now : null), () => null), (now) => now);
}

/** A crank on the bench of a fresh shop, with its first micrometer taken up. */
async function bench(report, browser, program, server, who = null) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  if (who) await context.addCookies([{ name: 'who', value: who, url: server.address }]);
  const page = await context.newPage();
  listen(report, page, () => 'losing things');
  const hand = new Plain(report, page, 'losing things');
  await page.goto(`${server.address}/jobs`);
  await bookIn(hand, { customer: 'A. Miller', engine: /Tarn four/ });
  const job = page.url().match(/\/jobs\/(\d+)/)[1];
  if (await page.getByRole('button', { name: 'Take it up' }).count()) {
    await hand.tickFirst('Micrometer');
    await hand.tick('right', 'On its setting standard it reads');
    await hand.go('button', 'Take it up');
  }
  return { context, page, job, hand, gauge: await Gauge.of(context, page) };
}

const GAUGES = [
  ...[2, 5, 10, 20, 30].map((gapMs) => ({ what: `burst at ${gapMs} ms`, gapMs, gauge: true })),
  { what: 'ending Tab', suffix: 'Tab', gauge: true },
  { what: 'no ending, focus on the page', suffix: null, focus: 'page', gauge: true },
  { what: 'leading +', before: '+', gauge: true },
  { what: 'unit behind', after: ' in', gauge: true },
  { what: 'comma for the point', comma: true, gauge: true },
  { what: 'focus on a button', focus: 'button', gauge: true },
  { what: 'focus on a link', focus: 'link', gauge: true },
  { what: 'focus on the page', focus: 'page', gauge: true },
  { what: 'a fast hand at 60 ms', gapMs: 60, gauge: false },
];

/** A gauge in every manner that gauges have. */
export async function gauges(report, browser, server) {
  const { context, page, job, gauge } = await bench(report, browser, server.program, server);
  const say = (what, rule, words) => report.fault(`measure, gauge: ${what}`, '-', rule, 'reading', words);
  let wanted = recorded(server, job).all;
  for (const way of GAUGES) {
    const now = await spotNow(page);
    if (!now) break;
    if (way.focus === 'button') await page.getByRole('button', { name: /^Undo / }).first().focus();
    else if (way.focus === 'link') await page.getByRole('link', { name: 'Verdict', exact: true }).focus();
    else if (way.focus === 'page') await page.evaluate(() => document.activeElement.blur());
    else await now.box.focus();
    const size = worn(now);
    await gauge.send(`${way.before ?? ''}${way.comma ? size.replace('.', ',') : size}${way.after ?? ''}`, { gapMs: way.gapMs ?? 5, suffix: way.suffix === undefined ? 'Enter' : way.suffix });
    const next = await onward(page, now.label);
    wanted += 1;
    const held = await until(server, job, wanted, page);
    report.looked('bursts of a gauge');
    if (held.all !== wanted) say(way.what, 'a reading is lost or doubled', `${held.all} of ${wanted}`);
    wanted = held.all;
    if (!next) say(way.what, 'the march does not go on', now.label);
    if (!page.url().includes('/measure')) say(way.what, 'the burst pressed something', page.url());
    const undo = await page.getByRole('button', { name: /^Undo / }).first().innerText().catch(() => '');
    if (way.gauge !== /gauge/.test(undo)) say(way.what, way.gauge ? 'a gauge is not known as one' : 'a hand is taken for a gauge', undo);
    if (next && !undo.includes(size)) say(way.what, 'another size was kept', undo);
    if (!(await typingIn(page, typingGoesTo)).box) say(way.what, 'typing does not go to the box', '');
  }

  // The same value at once again is a gauge that bounces; it is kept once.
  let now = await spotNow(page);
  const size = worn(now);
  await gauge.send(size);
  gauge.clock -= 0.09;
  await gauge.send(size, { at: gauge.clock });
  await onward(page, now.label);
  wanted += 1;
  let held = await until(server, job, wanted, page);
  if (held.all !== wanted) say('sent twice', 'a reading is lost or doubled', `${held.all} of ${wanted}`);
  wanted = held.all;
  report.looked('bursts of a gauge', 2);

  // Into a box for notes it types like anybody.
  await page.locator('summary').filter({ hasText: 'Damage' }).click();
  const note = page.getByLabel(/^Depth below the surface/);
  await note.focus();
  await gauge.send('0.0020', { suffix: null });
  await pause(300);
  if ((await note.inputValue()) !== '0.0020') say('into another box', 'what a gauge types into another box is taken away', await note.inputValue());
  held = recorded(server, job);
  if (held.all !== wanted) say('into another box', 'it became a reading', `${held.all} of ${wanted}`);
  report.looked('bursts of a gauge');

  // Without waiting for any answer, one spot after another.
  await page.goto(`${server.address}/jobs/${job}/measure`);
  for (let burst = 0; burst < 8; burst += 1) {
    now = await spotNow(page);
    if (!now) break;
    await gauge.send(worn(now));
    await onward(page, now.label);
    wanted += 1;
  }
  held = await until(server, job, wanted, page);
  if (held.all !== wanted) say('one after another', 'a reading is lost or doubled', `${held.all} of ${wanted}`);
  report.looked('bursts of a gauge', 8);
  for (const [spot, n] of held.spots) if (n > 1) say('all', 'two readings at a spot', `${spot}: ${n}`);

  // Held down, Enter saves once.
  now = await spotNow(page);
  if (now) {
    await now.box.focus();
    await gauge.send(worn(now), { gapMs: HAND_MS, suffix: null });
    for (let time = 0; time < 6; time += 1) await page.keyboard.down('Enter');
    await page.keyboard.up('Enter');
    wanted += 1;
    held = await until(server, job, wanted, page);
    if (held.all !== wanted) say('Enter held down', 'a reading is lost or doubled', `${held.all} of ${wanted}`);
  }
  await context.close();
}

/** The line goes and comes back; the program dies and is started again; the tab is closed; the answer is lost. */
export async function lines(report, browser, server) {
  const { context, page, job, gauge } = await bench(report, browser, server.program, server);
  const say = (what, rule, words) => report.fault(`measure, ${what}`, '-', rule, 'reading', words);
  let wanted = 0;
  const key = async (on, what, gapMs = HAND_MS) => {
    const now = await spotNow(on.page);
    if (!now) return say(what, 'no box', on.page.url());
    await now.box.focus();
    await on.gauge.send(worn(now), { gapMs });
    if (!(await onward(on.page, now.label))) say(what, 'the march does not go on', now.label);
    wanted += 1;
    report.looked('readings keyed while things broke');
  };
  const here = { page, gauge };
  const settled = async (what, on = page) => {
    const held = await until(server, job, wanted, on);
    if (held.all !== wanted) say(what, 'a reading is lost or doubled', `${held.all} of ${wanted}`);
    for (const [spot, n] of held.spots) if (n > 1) say(what, 'two readings at a spot', `${spot}: ${n}`);
    wanted = held.all;
  };
  // Where there is nothing to say the line is not there at all.
  const words = (on = page) => on.locator('main [role=alert]').first().textContent();
  const quiet = async (what) => {
    const left = await inTime(() => words(), (said) => !said);
    if (left) say(what, 'the words are not true any more', left);
  };

  await key(here, 'all well');
  await settled('all well');

  await context.setOffline(true);
  for (let n = 0; n < 4; n += 1) await key(here, 'line down');
  // They change when the browser gives up on the last one.
  const kept = await inTime(() => words(), (said) => /4 readings are kept/.test(said));
  if (!/4 readings are kept/.test(kept)) say('line down', 'the words are not true', kept);
  await context.setOffline(false);
  await settled('line down and back');
  await quiet('line down and back');

  for (let kill = 0; kill < 4; kill += 1) {
    const last = key(here, 'program killed');
    // At another moment each time: before, while and after the reading is on its way.
    await pause(kill * 12);
    await server.kill();
    await last;
    await key(here, 'program killed');
    await server.again();
    await settled(`program killed, time ${kill + 1}`);
    await quiet(`program killed, time ${kill + 1}`);
  }

  // The answer is lost on the way back; the reading was saved, and is sent again under the same name.
  let lost = 0;
  await page.route('**/measure', async (route) => {
    if (route.request().method() !== 'POST' || lost > 1) return route.fallback();
    lost += 1;
    await route.fetch().catch(() => null);
    return route.abort('connectionreset');
  });
  await key(here, 'answer lost');
  await settled('answer lost');
  if (!lost) say('answer lost', 'nothing was lost', '');
  await page.unroute('**/measure');

  // The tab is closed with readings in it, and opened again when the line is back.
  await context.setOffline(true);
  await key(here, 'tab closed');
  await key(here, 'tab closed');
  await page.close({ runBeforeUnload: false });
  await context.setOffline(false);
  const fresh = await context.newPage();
  await fresh.goto(`${server.address}/jobs/${job}/measure`);
  await settled('tab closed and opened again', fresh);

  // Loaded again while a reading is on its way.
  const again = { page: fresh, gauge: await Gauge.of(context, fresh) };
  await fresh.goto(`${server.address}/jobs/${job}/measure`);
  const now = await spotNow(fresh);
  await now.box.focus();
  await again.gauge.send(worn(now), { gapMs: HAND_MS });
  wanted += 1;
  await fresh.reload();
  await settled('loaded again on the way', fresh);
  await context.close();

  // A browser that keeps nothing: everything works while the line is up, and it says so when it is down.
  const bare = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  await bare.addInitScript(() => {
    Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });
  });
  const other = await bare.newPage();
  await other.goto(`${server.address}/jobs/${job}/measure`);
  const there = { page: other, gauge: await Gauge.of(bare, other) };
  await key(there, 'nothing can be kept');
  await settled('nothing can be kept', other);
  await bare.setOffline(true);
  await key(there, 'nothing can be kept');
  const said = await inTime(() => words(other), (told) => /kept|keeps nothing/.test(told));
  if (!/kept|keeps nothing/.test(said)) say('nothing can be kept', 'nothing says so', said);
  await bare.setOffline(false);
  await settled('nothing can be kept, line back', other);
  await bare.close();
}

/** Two people with one job open: both readings are in the record, and the second is told of the first. */
export async function twoTabs(report, browser, server) {
  const one = await bench(report, browser, server.program, server, 'Pat');
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  await context.addCookies([{ name: 'who', value: 'Sam', url: server.address }]);
  const page = await context.newPage();
  await page.goto(`${server.address}/jobs/${one.job}/measure`);
  const say = (rule, words) => report.fault('measure, two people at one spot', '-', rule, 'reading', words);
  const spot = await spotNow(one.page);
  const same = await spotNow(page);
  if (spot?.label !== same?.label) say('not the same spot', `${spot?.label} ${same?.label}`);
  await one.gauge.send(worn(spot), { gapMs: HAND_MS });
  await onward(one.page, spot.label);
  // Saved, not only gone on from: the second must meet the first in the record.
  await answered(one.page);
  const gauge = await Gauge.of(context, page);
  await same.box.focus();
  await gauge.send(worn(spot), { gapMs: HAND_MS });
  await onward(page, same.label);
  await answered(page);
  const told = await page.getByRole('status').first().innerText();
  if (!/Pat entered/.test(told)) say('the second is not told of the first', told);
  const history = await context.newPage();
  await history.goto(`${server.address}/jobs/${one.job}/history`);
  const text = await history.locator('main').innerText();
  for (const who of ['Pat', 'Sam']) if (!text.includes(who)) say('a reading is not in the history', who);
  report.looked('two people at one spot');
  await context.close();
  await one.context.close();
}
