// Hands for a browser without scripts: they fill in forms and press their buttons, as anybody would.

import { inTime } from './browser.mjs';
import { Hands } from './hands.mjs';

export class Plain extends Hands {
  constructor(report, page, walk) {
    super(report, page, walk);
    this.keyboard = false;
  }

  async one(locator, what) {
    const count = await inTime(() => locator.count(), (found) => found === 1, 15_000);
    if (count !== 1) throw new Error(`${this.walk}: ${count} of “${what}” on ${this.page.url()}\n${(await this.page.locator('body').innerText()).slice(0, 1500)}`);
    return locator;
  }

  async fillThis(field, text, what = text) {
    await (await this.one(field, what)).fill(text);
  }

  async chooseThis(field, words, label = words) {
    await this.one(field, label);
    const options = await field.locator('option').allInnerTexts();
    const at = options.findIndex((option) => option.trim().match(words));
    if (at < 0) throw new Error(`${this.walk}: no choice ${words} in ${label}: ${options.join(', ')}`);
    await field.selectOption({ index: at });
  }

  async tickThis(box, what) {
    await (await this.one(box, what)).check();
  }

  async openThis(part, summary) {
    await this.one(part, summary);
    if (!(await part.evaluate((element) => element.parentElement.open))) await part.click();
  }

  async enterReading(size) {
    const box = this.page.locator('main').getByRole('textbox', { name: /, across [AB]/ }).first();
    await box.fill(size);
    await this.goTo(this.page.getByRole('button', { name: 'Save', exact: true }), 'Save');
  }

  async undo() {
    await this.goTo(this.page.getByRole('button', { name: /^Undo / }).first(), 'Undo');
  }

  async goTo(target, what) {
    await this.one(target, what);
    const loaded = this.page.waitForEvent('load');
    await target.click();
    await loaded;
  }
}
