// A pair of hands on the keyboard. They find their way by what is written on the page, and never touch a mouse.

/** Longest way by Tab to anything on a page. */
const MOST_TABS = 250;

export class Hands {
  constructor(report, page, walk) {
    this.report = report;
    this.page = page;
    this.walk = walk;
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
    const count = await locator.count();
    if (count !== 1) throw new Error(`${this.walk}: ${count} of “${what}” on ${this.page.url()}\n${(await this.page.evaluate(() => document.body.innerText)).slice(0, 1500)}`);
    for (let tab = 0; tab < MOST_TABS; tab += 1) {
      if (await locator.evaluate((element) => element === document.activeElement)) return;
      this.tabs += 1;
      this.keys += 1;
      await this.page.keyboard.press('Tab');
    }
    throw new Error(`${this.walk}: Tab does not reach “${what}” on ${this.page.url()}`);
  }

  field(label, scope) {
    return (scope ? this.page.getByRole('group', { name: scope }) : this.page.locator('main')).getByLabel(label);
  }

  /** Types into a field; what stood there goes. */
  async fill(label, text, scope) {
    await this.to(this.field(label, scope), `${label}`);
    await this.press('Control+A');
    await this.type(text);
  }

  /** Chooses from a list by the words of the choice. */
  async choose(label, words, scope) {
    const field = this.field(label, scope);
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

  /** Unfolds a part of the page. */
  async open(summary) {
    const part = this.page.locator('summary').filter({ hasText: summary });
    if (await part.evaluate((element) => element.parentElement.open)) return;
    await this.to(part, `${summary}`);
    await this.press('Enter');
    if (!(await part.evaluate((element) => element.parentElement.open))) throw new Error(`${this.walk}: “${summary}” does not unfold by Enter`);
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
    const target = (scope ? this.page.getByRole('group', { name: scope }) : this.page.locator('body')).getByRole(role, { name });
    await this.to(target, `${role} ${name}`);
    await this.enter();
  }

  /** Enter, and the page that answers. */
  async enter() {
    const loaded = this.page.waitForEvent('load', { timeout: 15_000 });
    await this.press('Enter');
    await loaded;
  }
}
