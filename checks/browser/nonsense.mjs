// Every form, sent empty and sent with nonsense: a page comes back that says what is wrong and keeps what was typed.

import { SIZES, listen, rest } from './browser.mjs';
import { inspect } from './pages.mjs';

/** Typed into every field. No field wants this; as markup it would leave a trace. */
const NONSENSE = 'zz <b id="planted">9,9,9</b> é';

/** Fills every field of the form that a person can type into, and takes the browser's own checks away. Runs in the page. */
function fillIn({ at, text }) {
  const form = document.querySelectorAll('form')[at];
  form.noValidate = true;
  const typed = [];
  for (const field of form.elements) {
    if (field.tagName === 'TEXTAREA' || (field.tagName === 'INPUT' && /^(text|search|tel|email|date|url|)$/.test(field.type))) {
      if (field.type === 'date') continue;
      field.value = field.maxLength > 0 ? text.slice(0, field.maxLength) : text;
      typed.push(field.name);
    }
  }
  return typed;
}

export async function sendNonsense(report, browser, server, forms, screens) {
  // Our script is kept away: what is looked at is what the program itself answers.
  const context = await browser.newContext({ viewport: SIZES.desk });
  await context.route('**/static/bench.js', (route) => route.fulfill({ contentType: 'text/javascript', body: '' }));
  const page = await context.newPage();
  const seen = new Set();
  let state = '';
  listen(report, page, () => state);
  for (const [what, form] of forms) {
    for (const [how, text] of [['empty', ''], ['nonsense', NONSENSE]]) {
      state = `${form.path}, “${form.says}” sent with ${how}`;
      try {
        await page.goto(server.address + form.path);
        const there = await page.evaluate(({ at, nth, says }) => {
          const found = document.querySelectorAll('form')[at]?.querySelectorAll('button:not([type=button])')[nth];
          return Boolean(found && found.textContent.trim() === says && !found.disabled);
        }, form);
        if (!there) continue;
        const typed = await page.evaluate(fillIn, { at: form.at, text });
        if (how === 'nonsense' && !typed.length) continue;
        const button = page.locator('form').nth(form.at).locator('button:not([type=button])').nth(form.nth);
        let status = 0;
        const answered = (response) => { if (response.request().isNavigationRequest() && response.frame() === page.mainFrame()) status = response.status(); };
        page.on('response', answered);
        const loaded = page.waitForEvent('load');
        // Some buttons lie in a part that is folded away; a form is sent by its button all the same.
        await button.evaluate((element) => { setTimeout(() => element.click(), 0); });
        await loaded;
        page.off('response', answered);
        await rest(page);
        report.looked('forms sent');
        if (status >= 500 && status !== 503 && status !== 507) report.fault(state, '-', 'fault of the program', 'page', `${status} ${await page.title()}`);
        if (await page.locator('#planted').count()) report.fault(state, '-', 'what was typed became markup', '#planted');
        if (status === 422 || status === 400 || status === 409) {
          const title = await page.title();
          if (!title.startsWith('Error: ')) report.fault(state, '-', 'title does not say that something is wrong', title);
          if (how === 'nonsense' && status === 422) {
            const kept = await page.evaluate((text) => [...document.querySelectorAll('main input, main textarea')].some((field) => field.value.trim().length > 5 && text.toLowerCase().startsWith(field.value.trim().toLowerCase())), NONSENSE);
            if (!kept) report.fault(state, '-', 'what was typed is gone', 'page', (await page.locator('h1').first().innerText()).slice(0, 120));
          }
          if (status === 422) {
            const marked = await page.evaluate(() => {
              const bad = [...document.querySelectorAll('[aria-invalid=true]')];
              return { many: bad.length, told: bad.filter((field) => (field.getAttribute('aria-describedby') || '').split(/\s+/).some((id) => document.getElementById(id)?.innerText.trim())).length };
            });
            if (marked.many !== marked.told) report.fault(state, '-', 'a field at fault does not say why', 'aria-describedby', `${marked.told} of ${marked.many}`);
          }
          const shape = `${what.split(' · ')[0]} ${status} ${await page.evaluate(() => document.querySelectorAll('[aria-invalid=true]').length > 0)}`;
          if (!seen.has(shape)) {
            seen.add(shape);
            await inspect(report, page, state, screens, { walk: false });
          }
        }
      } catch (error) {
        report.fault(state, '-', 'not looked at', 'page', error.message);
      }
    }
  }
  await context.close();
}
