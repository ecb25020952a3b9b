// Hands for a browser without scripts: they fill in forms and press their buttons, as anybody would.

export class Plain {
  constructor(report, page, walk) {
    this.report = report;
    this.page = page;
    this.walk = walk;
    this.keys = 0;
  }

  within(scope) {
    return scope ? this.page.getByRole('group', { name: scope }) : this.page.locator('main');
  }

  async one(locator, what) {
    const count = await locator.count();
    if (count !== 1) throw new Error(`${this.walk}: ${count} of “${what}” on ${this.page.url()}\n${(await this.page.locator('body').innerText()).slice(0, 1500)}`);
    return locator;
  }

  async fill(label, text, scope) {
    await (await this.one(this.within(scope).getByLabel(label), label)).fill(text);
  }

  async choose(label, words, scope) {
    const field = await this.one(this.within(scope).getByLabel(label), label);
    const options = await field.locator('option').allInnerTexts();
    const at = options.findIndex((option) => option.trim().match(words));
    if (at < 0) throw new Error(`${this.walk}: no choice ${words} in ${label}: ${options.join(', ')}`);
    await field.selectOption({ index: at });
  }

  async tick(label, scope) {
    await (await this.one(this.within(scope).getByLabel(label), label)).check();
  }

  /** Unfolds a part of the page. */
  async open(summary) {
    const part = this.page.locator('summary').filter({ hasText: summary });
    if (!(await part.evaluate((element) => element.parentElement.open))) await (await this.one(part, summary)).click();
  }

  async go(role, name, scope) {
    const target = await this.one((scope ? this.page.getByRole('group', { name: scope }) : this.page.locator('body')).getByRole(role, { name }), name);
    const loaded = this.page.waitForEvent('load', { timeout: 15_000 });
    await target.click();
    await loaded;
  }
}
