// A whole job, from booking in to handing over: once by keyboard alone, once without any script; on an engine of the
// invented shop, and on one typed in from scratch.

import { answered, inTime, judged, steady, typingIn, waitUntil } from './browser.mjs';
import { typingGoesTo } from './looks.mjs';
import { aTurnOut, spotOf, typed, worn } from './readings.mjs';

/** The engine that is typed in: a Tarn four under another name, as a manual would print it. */
const BY_HAND = [
  ['fill', 'Name of the engine', 'Tarn four, typed in'],
  ['choose', 'The manual’s figures are in', /inch/i],
  ['fill', 'Stroke', '3.0000'],
  ['choose', 'Layout', /(four|4).*(line)/i],
  ['fill', 'Smallest new main size', '2.1245'],
  ['fill', 'Largest new main size', '2.1250'],
  ['fill', 'Length of one main', '1.10'],
  ['fill', 'Undersizes for the mains', '0.010, 0.020, 0.030, 0.040'],
  ['fill', 'Smallest new pin size', '1.8745'],
  ['fill', 'Largest new pin size', '1.8750'],
  ['fill', 'Length of one pin', '0.95'],
  ['fill', 'Undersizes for the pins', '0.010, 0.020, 0.030, 0.040'],
  ['fill', 'Most out-of-round when new', '0.0005'],
  ['fill', 'Most taper when new', '0.0005'],
];

/** Books a crank in. Returns how many actions it took: a field filled or chosen, a button pressed. */
export async function bookIn(hand, { customer, engine = null }) {
  let actions = 0;
  await hand.go('link', 'Book in');
  if (engine) {
    await hand.choose('Engine', engine);
    actions += 1;
  }
  await hand.fill('Customer', customer);
  actions += 1;
  if (!engine) {
    await hand.open('Type a new engine in');
    for (const [what, label, words] of BY_HAND) await hand[what](label, words);
    actions += BY_HAND.length + 1;
  }
  await hand.goTo(hand.page.getByRole('button', { name: 'Book in' }).last(), 'Book in');
  return actions + 2;
}

/** What the page says, all of it. */
const text = (page) => page.locator('main').innerText();

/** The spot that the box on the page is for; nothing where there is no box. */
export async function spotNow(page) {
  let box = page.locator('main').getByRole('textbox', { name: /, across [AB]/ }).first();
  if (!(await box.count())) {
    // In the final check the spot is the heading above the box.
    const heading = page.getByRole('heading', { name: /, across [AB]$/ }).first();
    if (!(await heading.count())) return null;
    box = page.locator('main').getByRole('textbox', { name: 'What the micrometer shows' });
    const label = await heading.innerText();
    return { ...spotOf(label), label, box };
  }
  if (!(await box.isVisible())) return null;
  const label = await box.evaluate((element) => [...element.labels].map((one) => one.innerText).join(' ')).catch(() => null);
  if (label === null) return spotNow(page);
  return { ...spotOf(label), label, box };
}

/** Takes up the micrometer that the page asks for, tried on its standard. */
async function takeUp(hand) {
  const choices = hand.page.getByRole('group', { name: 'Micrometer' }).getByRole('radio');
  if ((await choices.count()) > 1 && !(await hand.page.getByRole('group', { name: 'Micrometer' }).getByRole('radio', { checked: true }).count())) {
    await hand.tickFirst('Micrometer');
  }
  await hand.tick('right', 'On its setting standard it reads');
  await hand.go('button', 'Take it up');
}

/** Keys one reading and waits until the bench has answered. */
export async function keyIn(hand, size) {
  const { page } = hand;
  const before = await steady(page, told);
  await hand.enterReading(size);
  await moved(page, before, size);
}

/**
 * Waits until what stands around the box is something else, and that is the program's answer: when it takes long the page
 * itself goes on, and says that the reading is kept.
 */
async function moved(page, before, what) {
  await waitUntil(`an answer to ${what}: ${before}`, async () => (await steady(page, told)) !== before);
  await answered(page);
}

/** Waits until there is something to do on the page to measure: a box, a micrometer to take up, or nothing left. */
async function something(page) {
  await waitUntil(`a spot to measure on ${page.url()}`, async () => {
    await answered(page);
    return (await page.getByRole('button', { name: 'Take it up' }).count()) || (await spotNow(page)) || /All spots are measured/.test(await text(page));
  });
}

/** What stands around the box. Runs in the page. */
function told() {
  return `${location.href} ${document.querySelector('[role=status]')?.innerText} ${[...document.querySelectorAll('label')].map((label) => label.innerText).find((words) => /across [AB]/.test(words))}`;
}

/**
 * Measures every spot, one after another. One reading is keyed a turn of the thimble out and put right; after so many
 * readings three are undone and keyed again.
 */
export async function measure(hand, report, { turnAt = 'Main 2, rear, across B', undoAfter = 18 } = {}) {
  const { page, walk } = hand;
  const found = { readings: 0, keys: 0, flagged: 0, undone: 0, firstVerdict: null };
  let turned = false;
  for (let step = 0; step < 80; step += 1) {
    if (await page.getByRole('button', { name: 'Take it up' }).count()) {
      await takeUp(hand);
      continue;
    }
    const now = await spotNow(page);
    if (!now) {
      if (/All spots are measured/.test(await text(page))) break;
      // The page to change the micrometer is on its way.
      await something(page);
      continue;
    }
    if (hand.keyboard) {
      const typing = await typingIn(page, typingGoesTo);
      if (!typing.box || !/across/.test(typing.name)) report.fault(`${walk}, ${now.label}`, '-', 'typing does not go to the box', typing.name);
      if (typing.value) report.fault(`${walk}, ${now.label}`, '-', 'the box is not empty', typing.value);
      if (!(await page.title()).includes(`${now.name} ${now.number}`)) report.fault(`${walk}, ${now.label}`, '-', 'title does not say the spot', await page.title());
    }
    const keys = hand.keys;
    const name = `${now.name} ${now.number}, ${now.station}, across ${now.across}`;
    if (name === turnAt && !turned) {
      turned = true;
      await keyIn(hand, aTurnOut(now));
      const again = await spotNow(page);
      const says = await text(page);
      if (!again || again.label.indexOf(name) < 0) report.fault(walk, '-', 'a flag does not stay at its spot', name, again?.label ?? 'no box');
      if (!/turn of the thimble/.test(says)) report.fault(walk, '-', 'a turn of the thimble is not seen', name, says.slice(0, 300));
      if (hand.keyboard) {
        const typing = await typingIn(page, typingGoesTo);
        if (!typing.box || typing.value) report.fault(walk, '-', 'after a flag the box is not ready', name, `${typing.name} ${typing.value}`);
      }
      // One action puts it right: the same spot, measured again.
      await keyIn(hand, worn(now));
      if (/turn of the thimble away|full turn of the thimble/.test(await page.locator('main').getByRole('status').first().innerText())) report.fault(walk, '-', 'a flag stays after it was put right', name);
      found.flagged += 1;
      found.readings += 1;
      await hand.onward?.();
      continue;
    }
    await keyIn(hand, worn(now));
    found.readings += 1;
    found.keys += hand.keys - keys;
    if (found.firstVerdict === null && found.readings >= 4) {
      // With the script the page fetches it by itself; without one it is asked for again.
      const seen = await inTime(async () => {
        if (!hand.keyboard) await page.reload();
        return steady(page, () => /grind to|leave|clean up|in 100/i.test(document.querySelector('aside')?.innerText ?? ''));
      }, (there) => there);
      found.firstVerdict = seen ? found.readings : 99;
    }
    if (found.readings === undoAfter && !found.undone) {
      for (let time = 0; time < 3; time += 1) {
        const before = await steady(page, told);
        await hand.undo(time);
        await moved(page, before, 'undo');
        const back = await spotNow(page);
        if (!back) report.fault(walk, '-', 'undo does not lead back to the box', `time ${time + 1}`);
        else if (hand.keyboard && !(await typingIn(page, typingGoesTo)).box) report.fault(walk, '-', 'after undo the box is not ready', back.label);
        found.undone += 1;
      }
      found.readings -= 3;
      found.keys -= 3 * 7;
    }
  }
  return found;
}

/** Decides both sets, the second against the advice where that is asked for, and issues the sheet. */
export async function decide(hand, report, job, { overrule = false } = {}) {
  const { page } = hand;
  await hand.go('link', /^Verdict/, 'steps');
  for (let set = 0; set < 2; set += 1) {
    // What is decided on is what stands there at last, after each decision too.
    await judged(page);
    const take = page.getByRole('button', { name: /^(Grind the|Leave the)/ });
    if (overrule && set === 1) {
      const pins = page.getByRole('region', { name: /^Pins/ });
      await hand.openThis(pins.locator('summary').filter({ hasText: 'Choose another size' }), 'Choose another size');
      await hand.chooseThis(pins.getByLabel(/^What to do with/), /0\.030/);
      await hand.tickThis(pins.getByLabel('Another reason'), 'Another reason');
      await hand.fillThis(pins.getByLabel('In your own words'), 'The customer has shells of that size.');
      await hand.goTo(pins.getByRole('button', { name: 'Choose this instead' }), 'Choose this instead');
    } else {
      await hand.goTo(take.first(), 'the advice of the ladder');
    }
  }
  await judged(page);
  await hand.go('button', /^Issue/);
}

/** Grinds: a reading for every journal, all of them cleaned up; then treatment or the final check. Returns the sheet's code. */
export async function grind(hand, report, { treat = null } = {}) {
  const { page } = hand;
  if (!/\/grind/.test(page.url())) await hand.go('link', /^Grind/, 'steps');
  const heading = await page.getByRole('heading', { level: 1 }).innerText();
  const code = heading.match(/\b([A-Z0-9]{3})$/)?.[1];
  if (!code) report.fault(hand.walk, '-', 'no code of the sheet', heading);
  const sizes = {};
  for (const set of ['Mains', 'Pins']) {
    const region = page.getByRole('region', { name: new RegExp(`^${set}: `) }).first();
    const under = (await region.innerText()).match(/0\.0[1-4]0/)?.[0];
    sizes[set === 'Mains' ? 'main' : 'pin'] = (set === 'Mains' ? 21248 : 18748) - Math.round(Number(under ?? 0) * 10000);
  }
  const journals = await page.getByLabel('Journal', { exact: true }).locator('option').allInnerTexts();
  if (journals.length !== 9) report.fault(hand.walk, '-', 'journals on the grinder’s page', journals.join(', '));
  for (const journal of journals) {
    const set = /^main/i.test(journal) ? 'main' : 'pin';
    await hand.choose('Journal', new RegExp(`^${journal}$`));
    await hand.fill('What the micrometer shows', typed(sizes[set] + 40));
    await hand.go('button', 'Save the reading');
    if (!(await page.getByRole('status').count())) report.fault(hand.walk, '-', 'a ground reading is not answered', journal, (await text(page)).match(/Readings while grinding[\s\S]{0,700}/)?.[0]);
  }
  for (const journal of journals) await hand.tick('Cleaned up', new RegExp(`^${journal}\\b`));
  await hand.go('button', 'Save the answers');
  if (treat) {
    await hand.go('link', 'Send it to treatment');
    if (await page.getByText('No batch is open').count()) {
      await hand.go('link', 'Open one');
      await hand.fill('Name', 'N-40');
      await hand.fill('Treatment', 'nitriding');
      await hand.fill('Who treats it', 'Highmoor Heat Treatment');
      await hand.go('button', 'Open it');
      await page.goto(treat);
    }
    await hand.choose('Batch', /N-/);
    await hand.go('button', 'Send it');
    for (const [set, most] of [['Main', 5], ['Pin', 4]]) {
      for (let number = 1; number <= most; number += 1) await hand.fill(new RegExp(`^${set} ${number}\\b`), typed(sizes[set.toLowerCase()]));
    }
    await hand.go('button', 'It is back');
  } else {
    await hand.go('button', /^Grinding done/);
  }
  return { code, sizes };
}

/** The final check: the code of the sheet, every spot, everything that is looked at, and the signature. */
export async function finish(hand, report, { code, sizes }) {
  const { page } = hand;
  if (!/\/final/.test(page.url())) await hand.go('link', /^Final check/, 'steps');
  if (await page.getByLabel('Code of the sheet').count()) {
    await hand.fill('Code of the sheet', 'ZZZ');
    await hand.go('button', 'Begin the check');
    if (!/^Error: /.test(await page.title())) report.fault(hand.walk, '-', 'a wrong code is not stopped', await page.title());
    await hand.fill('Code of the sheet', code.toLowerCase());
    await hand.go('button', 'Begin the check');
  }
  let readings = 0;
  for (let step = 0; step < 60; step += 1) {
    const now = await spotNow(page);
    if (!now) break;
    const size = typed(sizes[now.set]);
    if (readings === 0 && (await text(page)).includes(size.slice(0, 5))) report.fault(hand.walk, '-', 'the final check is not blind', now.label);
    if (hand.keyboard && !(await typingIn(page, typingGoesTo)).box) report.fault(hand.walk, '-', 'typing does not go to the box', now.label);
    await hand.fillThis(now.box, size);
    await hand.enterThis();
    readings += 1;
    if (readings === 1 && !/inside/i.test(await page.getByRole('status').first().innerText())) report.fault(hand.walk, '-', 'a size inside is not called so', size, await page.getByRole('status').first().innerText());
  }
  const groups = await page.getByRole('group').filter({ has: page.getByLabel('Who looked') }).all();
  for (const group of groups) {
    await hand.tickThis(group.getByLabel('Passed', { exact: true }), 'Passed');
    await hand.fillThis(group.getByLabel('Who looked'), 'Rowan Hale');
    if (/crack/i.test(await group.innerText())) await hand.fillThis(group.getByLabel('Remark'), 'Magnetic particles, no indications.');
  }
  await hand.go('button', 'Save the answers');
  const name = page.getByLabel('Your name, once more');
  if (!(await name.count())) throw new Error(`${hand.walk}: cannot be signed\n${(await text(page)).slice(-2500)}`);
  const who = (await page.getByText('Working at this screen').innerText()).match(/screen: (.*)\./)[1];
  for (const box of await page.getByRole('checkbox', { name: /^I sign without it/ }).all()) await hand.tickThis(box, 'I sign without it');
  await hand.fillThis(name, who);
  await hand.go('button', 'Sign off');
  await hand.go('link', 'Hand over');
  await hand.fill('Who takes it', 'A. Miller');
  await hand.go('button', 'Hand over');
  if (!/Handed over to A. Miller/.test(await text(page))) report.fault(hand.walk, '-', 'not handed over', page.url());
  return readings;
}

/** The whole job. */
export async function wholeJob(hand, report, server, { engine, customer, treat, overrule }) {
  const { page, walk } = hand;
  await page.goto(server.address);
  if (await page.getByRole('heading', { name: 'Begin' }).count()) {
    await hand.tick('Inches', 'What do your micrometers read in?');
    await hand.go('button', 'Go on');
  }
  const actions = await bookIn(hand, { customer, engine });
  const job = page.url().match(/\/jobs\/(\d+)/)?.[1];
  if (!job) throw new Error(`${walk}: not booked in\n${(await text(page)).slice(0, 2000)}`);
  if (!/\/measure/.test(page.url())) await hand.go('link', /^Measure/, 'steps');
  const found = await measure(hand, report);
  report.looked(`readings keyed, ${walk}`, found.readings);
  if (found.readings !== 36) report.fault(walk, '-', 'not every spot was measured', `${found.readings} of 36`, (await text(page)).slice(0, 600));
  if (found.flagged !== 1 || found.undone !== 3) report.fault(walk, '-', 'flag or undo was not met', `${found.flagged} ${found.undone}`);
  await decide(hand, report, job, { overrule });
  const ground = await grind(hand, report, { treat: treat ? `${server.address}/jobs/${job}/treatment` : null });
  const last = await finish(hand, report, ground);
  report.looked(`final readings, ${walk}`, last);
  return { actions, ...found, job };
}
