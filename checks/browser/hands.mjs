// A pair of hands on the keyboard. They find their way by what is written on the page, and never touch a mouse.

import { inTime } from './browser.mjs';
import { Gauge } from './gauge.mjs';

/** From key to key of somebody who types with one finger. */
const HAND_MS = 120;
/** Labels that are part of others. */
const EXACT = new Set(['Journal', 'Name', 'Cleaned up', 'Passed', 'right', 'Treatment', 'Customer', 'Engine', 'Micrometer', 'Inches']);

/** Longest way by Tab to anything on a page. */
const MOST_TABS = 250;

export class Hands {
  constructor(report, page, walk) {
    this.report = report;
    this.page = page;
    this.walk = walk;
    this.keyboard = true;
    this.keys = 0;
    this.tabs = 0;
  }

  /** Counts what a mouse or a finger would do, on every page of the context. */
  static async watch(context) {
    const pointed = { times: 0 };
    await context.exposeBinding('pointed', (_, what) => {
      pointed.times += 1;
      pointed.last = what;
    });
    await context.addInitScript(() => {
      for (const kind of ['pointerdown', 'mousedown', 'touchstart', 'wheel']) {
        addEventListener(kind, (event) => window.pointed(`${kind} on ${event.target.tagName}`), true);
      }
    });
    return pointed;
  }

  async press(key) {
    this.keys += 1;
    await this.page.keyboard.press(key);
  }

  async type(text) {
    this.keys += [...text].length;
    await this.page.keyboard.type(text);
  }

  /** Tabs until this has the focus. */
  async to(locator, what = String(locator)) {
    const count = await inTime(() => locator.count(), (found) => found === 1, 15_000);
    if (count !== 1) throw new Error(`${this.walk}: ${count} of “${what}” on ${this.page.url()}\n${(await this.page.evaluate(() => document.body.innerText)).slice(0, 1500)}`);
    for (let tab = 0; tab < MOST_TABS; tab += 1) {
      if (await locator.evaluate((element) => element === document.activeElement)) return;
      this.tabs += 1;
      this.keys += 1;
      await this.page.keyboard.press('Tab');
    }
    throw new Error(`${this.walk}: Tab does not reach “${what}” on ${this.page.url()}`);
  }

  within(scope) {
    if (scope === 'steps') return this.page.getByRole('navigation', { name: 'Pages of this job' });
    return scope ? this.page.getByRole('group', { name: scope }) : this.page.locator('main');
  }

  field(label, scope) {
    return this.within(scope).getByLabel(label, { exact: typeof label === 'string' && EXACT.has(label) });
  }

  /** Types into a field; what stood there goes. */
  async fill(label, text, scope) {
    await this.fillThis(this.field(label, scope), text, label);
  }

  async fillThis(field, text, what = text) {
    await this.to(field, `${what}`);
    await this.press('Control+A');
    await this.type(text);
  }

  /** Chooses from a list by the words of the choice. */
  async choose(label, words, scope) {
    await this.chooseThis(this.field(label, scope), words, label);
  }

  async chooseThis(field, words, label = words) {
    await this.to(field, `${label}`);
    const options = await field.evaluate((element) => [...element.options].map((option) => option.textContent.trim()));
    const at = options.findIndex((option) => option.match(words));
    if (at < 0) throw new Error(`${this.walk}: no choice ${words} in ${label}: ${options.join(', ')}`);
    let now = await field.evaluate((element) => element.selectedIndex);
    while (now !== at) {
      await this.press(now < at ? 'ArrowDown' : 'ArrowUp');
      const next = await field.evaluate((element) => element.selectedIndex);
      if (next === now) throw new Error(`${this.walk}: the arrows do not move ${label}`);
      now = next;
    }
  }

  /** Ticks a box, or picks one of several. */
  async tick(label, scope) {
    await this.tickThis(this.field(label, scope), `${label}`);
  }

  async tickFirst(scope) {
    await this.tickThis(this.within(scope).getByRole('radio').first(), scope);
  }

  /** Unfolds a part of the page. */
  async open(summary) {
    await this.openThis(this.page.locator('summary').filter({ hasText: summary }), summary);
  }

  async openThis(part, summary) {
    if (await part.evaluate((element) => element.parentElement.open)) return;
    await this.to(part, `${summary}`);
    await this.press('Enter');
    if (!(await part.evaluate((element) => element.parentElement.open))) throw new Error(`${this.walk}: “${summary}” does not unfold by Enter`);
  }

  /** A reading, at the speed of a hand; the box has the focus already, or it is a fault. */
  async enterReading(size) {
    this.typist ??= await Gauge.of(this.page.context(), this.page);
    this.keys += [...size].length + 1;
    await this.typist.send(size, { gapMs: HAND_MS });
  }

  /** Undoes the last thing: by its button the first time, by Ctrl+Z from the empty box after that. */
  async undo(time) {
    if (time === 0) {
      await this.to(this.page.getByRole('button', { name: /^Undo / }).first(), 'Undo');
      await this.press('Enter');
    } else {
      await this.press('Control+z');
    }
  }

  async tickThis(box, what) {
    if (await box.evaluate((element) => element.type === 'radio')) {
      // Tab stops at one of a group; the arrows go on from there.
      const group = await box.evaluateHandle((element) => [...document.querySelectorAll('input[type=radio]')].filter((one) => one.name === element.name && one.form === element.form));
      for (let tab = 0; tab < MOST_TABS; tab += 1) {
        if (await group.evaluate((all) => all.includes(document.activeElement))) break;
        await this.press('Tab');
      }
      for (let step = 0; step < 20; step += 1) {
        if (await box.evaluate((element) => element === document.activeElement)) break;
        await this.press('ArrowDown');
      }
      if (!(await box.isChecked())) await this.press('Space');
    } else {
      await this.to(box, what);
      if (!(await box.isChecked())) await this.press('Space');
    }
    if (!(await box.isChecked())) throw new Error(`${this.walk}: “${what}” cannot be chosen by keys`);
  }

  /** Goes to a button or a link and presses Enter; waits for the page that answers. */
  async go(role, name, scope) {
    const around = scope ? this.within(scope) : this.page.locator('body');
    await this.goTo(around.getByRole(role, { name, exact: typeof name === 'string' }), `${role} ${name}`);
  }

  async goTo(target, what) {
    await this.to(target, what);
    await this.enterThis();
  }

  /** Enter, and the page that answers. */
  async enterThis() {
    const loaded = this.page.waitForEvent('load');
    await this.press('Enter');
    await loaded;
  }
}
