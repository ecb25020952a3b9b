// Proof that the checks bite: a page that is as it should be passes, and each fault put into it on purpose is found.

import { axe } from './axe.mjs';
import { NARROW, SIZES, listen, resize, rest } from './browser.mjs';
import { walkFocus } from './focus.mjs';
import { checkScript, checkStyle } from './grammar.mjs';
import { firstView, look, readWords, typingGoesTo } from './looks.mjs';
import { Report } from './report.mjs';
import { files } from './still.mjs';
import { checkTokens } from './tokens.mjs';
import { weigh } from './weight.mjs';
import { checkSentences, checkTemplate, faultsOf } from './words.mjs';

const PLACE = 'http://fixture.test';

/** A page as ours are: head, box for a reading, verdict with dots, table, bar, foot. */
const GOOD = `<!doctype html>
<html lang="en" class="size-desk"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Measure · Oxbow Engine Works</title><link rel="stylesheet" href="/bench.css"></head><body>
<a class="skip" href="#main">Skip to the page</a>
<header class="head"><nav aria-label="Parts of the program"><a href="/jobs" aria-current="page">Jobs</a><a href="/shop">Shop</a></nav></header>
<main id="main" tabindex="-1"><h1>Measure</h1>
<section class="panel" aria-labelledby="now"><h2 id="now">Main 3, flywheel end, across A</h2>
<form method="post" action="/save"><div class="field"><label for="reading">Reading in inches</label>
<input id="reading" name="reading" inputmode="decimal" autocomplete="off" value="2.4480"></div>
<div class="buttons"><button>Save</button></div></form>
<p role="status">Last: 2.4486 in.</p></section>
<section class="panel so-far" aria-labelledby="sofar"><h2 id="sofar">Mains so far</h2>
<p class="dots">${'<span class="dot" aria-hidden="true">●</span> '.repeat(20)}</p><p class="say">Very likely, 97 in 100.</p></section>
<div class="scroll" role="region" aria-label="Readings" tabindex="0"><table><caption>Readings</caption><thead><tr><th scope="col">Spot</th><th scope="col">Size, in</th></tr></thead>
<tbody><tr><th scope="row">Main 1</th><td class="fig">2.4484</td></tr></tbody></table></div>
<div class="buttons bar"><button class="quiet">Undo 2.4480 at Main 3</button></div></main>
<footer class="foot"><a href="/words">Words used here</a><p>The maker’s manual comes first.</p></footer></body></html>`;

/** Each: what is done to the page or its style, in which window, and the rule that must find it. */
const SEEDED = [
  { what: 'name lacks the words that are seen', rule: /label-content-name-mismatch/, html: (page) => page.replace('<button>Save', '<button aria-label="Keep this figure">Save') },
  { what: 'bar outside any landmark', rule: /axe region/, html: (page) => page.replace('</main>', '</main><div class="buttons">2 readings wait for the shop computer</div>') },
  { what: 'dots burst a narrow column', rule: /page scrolls sideways/, size: 'narrow 320', css: '.dots { white-space: nowrap; }' },
  { what: 'links 28 px high', rule: /target too small/, css: '.head nav a { min-height: 28px; line-height: 28px; }' },
  { what: 'bar takes a sixth of a small window', rule: /bar takes too much/, size: 'narrow 320', css: '.bar { position: sticky; bottom: 0; min-height: 110px; background: var(--paper); }' },
  { what: 'focus under the bar', rule: /focus is hidden/, walk: true, css: '.bar { position: fixed; top: 0; left: 0; right: 0; height: 300px; background: var(--paper); z-index: 2; }' },
  { what: 'focus does not show', rule: /focus does not show/, walk: true, css: 'button:focus, button:focus-visible { outline: none !important; box-shadow: none !important; }' },
  { what: 'Tab is trapped', rule: /Tab is trapped/, walk: true, html: (page) => page.replace('</body>', '<script src="/trap.js"></script></body>') },
  { what: 'order on screen and of focus part', rule: /tabindex|order of focus/, walk: true, html: (page) => page.replace('<button class="quiet">', '<button class="quiet" tabindex="3">') },
  { what: 'text is cut', rule: /text is cut/, css: '.say { width: 4rem; overflow: hidden; white-space: nowrap; }' },
  { what: 'text bursts its box when spaced', rule: /sticks out of its box/, size: 'far 1280', css: '.panel { height: 5rem; }' },
  { what: 'reading is cut', rule: /what was typed is cut/, css: '#reading { width: 3rem; }' },
  { what: 'faint text', rule: /^contrast/, css: '.say { color: var(--rule); }' },
  { what: 'no label', rule: /axe label/, html: (page) => page.replace('<label for="reading">Reading in inches</label>', '') },
  { what: 'a column of a word a line', rule: /column too narrow/, html: (page) => page.replace('2.4484', 'It reads inside the window of the grind; whether it is, the micrometer cannot tell').replace('td class="fig"', 'td'), css: 'table { width: 9rem; min-width: 0; table-layout: fixed; }' },
  { what: 'two h1', rule: /one h1/, html: (page) => page.replace(/<h2 id="sofar">(.*?)<\/h2>/, '<h1 id="sofar">$1</h1>') },
  { what: 'th without scope', rule: /th without scope/, html: (page) => page.replace(' scope="row"', '') },
  { what: 'tooltip', rule: /tooltip/, html: (page) => page.replace('<p class="say">', '<p class="say" title="97 in 100">') },
  { what: 'placeholder', rule: /placeholder/, html: (page) => page.replace('inputmode', 'placeholder="2.4480" inputmode') },
  { what: 'small letters', rule: /text under 1 rem/, css: '.say { font-size: .8rem; }' },
  { what: 'style in the page', rule: /style or script|console/, html: (page) => page.replace('<p class="say">', '<p class="say" style="color: red">') },
  { what: 'id used twice', rule: /id used twice/, html: (page) => page.replace('<p class="say">', '<p class="say" id="now">') },
  { what: 'language missing', rule: /axe html-has-lang/, html: (page) => page.replace(' lang="en"', '') },
  { what: 'heading left out', rule: /axe heading-order/, html: (page) => page.replace(/h2/g, 'h4') },
  { what: 'targets lie on each other', rule: /targets lie on each other/, css: '.head nav a { margin-right: -40px; }' },
];

/** Texts that must be found, and one of each kind that must not. */
const WORDS = [
  ['Invalid reading', 'invalid'], ['Please try again', 'please'], ['An error occurred', 'error occurred'], ['Oops', 'oops'], ['Sorry', 'sorry'],
  ['That is forbidden', 'forbidden'], ['Submit', 'submit'], ['N/A', 'N/A'], ['Cancel', 'OK or Cancel'], ['take off .0168 in', 'a figure with a bare leading point'],
  ['97 % chance', 'a chance is told in 100s'], ['97% likely', 'a chance is told in 100s'], ['Saved!', 'an exclamation mark'], ['LOOK AGAIN', 'all capitals'],
];
const CALM = ['Measure Main 3 again.', '97 in 100', 'take off 0.0168 in', 'EXAMPLE. An invented crank', '2.4480 in. Fine.', 'from 2 to 3.', 'see 1.2.3', 'A sheet in TOML or JSON'];

const SCRIPTS = [
  ['a?.b()', 'optional chaining'], ['a ??= 1', '??='], ['var x = a ?? b', '??'], ['await fetch("/")', 'await at the top'], ['crypto.randomUUID()', 'randomUUID'],
  ['form.requestSubmit()', 'requestSubmit'], ['class A { b = 1 }', 'class fields'], ['list.replaceChildren()', 'replaceChildren'], ['box.innerHTML = typed', 'innerHTML'], ['box.insertAdjacentHTML("afterend", typed)', 'insertAdjacentHTML'], ['box.innerHTML = "<b>" + told.says', 'innerHTML put together'],
  ['"a".replaceAll("b", "c")', 'replaceAll'], ['import("/x.js")', 'import()'], ['var big = 10n', 'BigInt'],
];
const STYLES = [
  ['.a:has(.b) { margin: 0; }', ':has'], ['.a { .b { margin: 0; } }', 'nesting'], ['.a { inset: 0; }', 'inset'], ['.a { height: 100dvh; }', 'dvh'],
  ['a:focus, a:focus-visible { margin: 0; }', 'a list with :focus-visible'], ['@container (min-width: 3rem) { .a { margin: 0; } }', '@container'], ['.a { width: clamp(1rem, 2vw, 3rem); }', 'clamp'],
  ['@layer base { .a { margin: 0; } }', '@layer'], ['.a { order: 2; }', 'order'],
];
const COLOURS = [
  ['.a { color: #123456; }', 'colour outside the tokens'], ['.a { color: red; }', 'colour outside the tokens'], ['.a { border: 1px solid rgba(0, 0, 0, .5); }', 'colour outside the tokens'],
  ['.a { color: var(--nowhere); }', 'unknown token'], ['.a { color: var(--rule); background: var(--film); }', 'pair not looked at'], [':root { --new: #777777; }', 'token without a pair'],
  [':root { --ink-2: #8a8a8a; }', 'contrast'], ['.a { opacity: .5; }', 'faded text'], ['.a { text-transform: uppercase; }', 'all capitals'],
];

export async function checkBites(report, browser, root) {
  const css = [...files(root, 'crates/bench/static', '.css').values()].join('\n');
  const blunt = (what, rule, found = []) => report.fault('checks themselves', '-', 'does not bite', what, `nothing like ${rule}; found ${found.join(', ') || 'nothing'}`);
  const bites = (what, rule, run) => {
    const own = new Report();
    run(own);
    report.looked('seeded faults');
    const rules = own.faults.map((fault) => fault.rule);
    if (!rules.some((one) => (rule instanceof RegExp ? rule.test(one) : one === rule))) blunt(what, rule, rules);
  };

  for (const [text, rule] of WORDS) {
    bites(text, `word: ${rule}`, (own) => checkTemplate(own, 'fixture', `<p>${text}</p>`));
    if (/ /.test(text)) bites(`${text} in code`, `word: ${rule}`, (own) => checkSentences(own, 'fixture', `fn a() { say("A line: ${text}"); }`));
  }
  for (const text of CALM) {
    const found = faultsOf(text);
    if (found.length) report.fault('checks themselves', '-', 'bites what is well', text, found.join(' '));
  }
  for (const [tag, rule] of [['<p title="x">', 'tooltip'], ['<input placeholder="x">', 'placeholder'], ['<p style="x">', 'style in the page'], ['<script>a()</script>', 'script in the page'], ['<button onclick="a()">', 'script in the page'], ['<th>x</th>', 'th without scope'], ['<img src="https://elsewhere.example/a.png">', 'outside address'], ['<input type="number">', 'type=number']]) {
    bites(tag, rule, (own) => checkTemplate(own, 'fixture', tag));
  }
  for (const [text, what] of SCRIPTS) bites(what, /^script/, (own) => checkScript(own, 'fixture', text));
  for (const [text, what] of STYLES) bites(what, /style grammar|order on screen/, (own) => checkStyle(own, 'fixture', text));
  for (const [text, rule] of COLOURS) bites(text, rule, (own) => checkTokens(own, new Map([['base', css], ['fixture', text]])));

  const context = await browser.newContext({ viewport: SIZES.desk });
  const page = await context.newPage();
  let now = { html: GOOD, css };
  await context.route('**/*', (route) => {
    const path = new URL(route.request().url()).pathname;
    if (path === '/bench.css') return route.fulfill({ contentType: 'text/css', body: now.css });
    if (path === '/trap.js') {
      // At once, not after a pause: whether the next key or the pause comes first is a race.
      return route.fulfill({ contentType: 'text/javascript', body: 'document.addEventListener("keydown", function (event) { if (event.key === "Tab" && event.target.id === "reading") event.preventDefault(); });' });
    }
    if (path === '/lost.js') {
      return route.fulfill({ contentType: 'text/javascript', body: 'document.querySelector("form").addEventListener("submit", function (event) { event.preventDefault(); document.querySelector("button.quiet").focus(); });' });
    }
    if (path === '/heavy.js') return route.fulfill({ contentType: 'text/javascript', body: `var a = "${'x'.repeat(41_000)}";` });
    return route.fulfill({ contentType: 'text/html', headers: { 'content-security-policy': "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'" }, body: now.html });
  });
  const seen = async (seed) => {
    now = { html: seed.html ? seed.html(GOOD) : GOOD, css: css + (seed.css ?? '') };
    const own = new Report();
    const consoled = (message) => { if (message.type() === 'error' && /Content Security/.test(message.text())) own.fault('fixture', '-', 'console', message.text()); };
    page.on('console', consoled);
    await page.goto(`${PLACE}/`);
    await rest(page);
    const size = seed.size ?? 'desk';
    await resize(page, SIZES[size] ?? NARROW[size]);
    const { found } = await page.evaluate(look, { targets: 44, contrast: true });
    for (const [rule, element, says] of found) own.fault('fixture', size, rule, element, says);
    await axe(own, page, 'fixture', size);
    if (seed.walk || seed.all) await walkFocus(own, page, 'fixture', size);
    for (const [, text] of await page.evaluate(readWords)) for (const [rule, word] of faultsOf(text)) own.fault('fixture', size, `word: ${rule}`, word);
    page.off('console', consoled);
    return own;
  };
  for (const size of [...Object.keys(SIZES), ...Object.keys(NARROW)]) {
    const own = await seen({ size, all: true });
    for (const fault of own.faults) report.fault('checks themselves', size, `bites what is well: ${fault.rule}`, fault.element, fault.says);
  }
  for (const seed of SEEDED) {
    const own = await seen(seed);
    report.looked('seeded faults');
    const rules = own.faults.map((fault) => fault.rule);
    if (!rules.some((rule) => seed.rule.test(rule))) blunt(seed.what, seed.rule, rules);
  }

  // The box half off the first view, behind a tall drawing.
  const inView = async () => {
    const elements = await page.evaluateHandle(() => [['box', document.querySelector('#reading')]]);
    return page.evaluate(firstView, elements);
  };
  await seen({ size: 'bench' });
  if ((await inView()).length) report.fault('checks themselves', 'bench', 'bites what is well', 'first view');
  await seen({ size: 'bench', html: (html) => html.replace('<h1>', '<svg width="600" height="640" aria-hidden="true"></svg><h1>') });
  if (!(await inView()).includes('box')) blunt('drawing before the box', 'first view');

  // Digits after a save that put the focus on a button.
  await seen({});
  await page.getByLabel('Reading in inches').focus();
  if (!(await page.evaluate(typingGoesTo)).box) report.fault('checks themselves', '-', 'bites what is well', 'typing goes to the box');
  await seen({ html: (html) => html.replace('</body>', '<script src="/lost.js"></script></body>') });
  await page.getByLabel('Reading in inches').focus();
  await page.keyboard.press('Enter');
  if ((await page.evaluate(typingGoesTo)).box) blunt('focus sent to a button', 'typing goes to the box');

  // A page that is too heavy, and one that fetches from outside.
  await context.close();
  const heavy = async (html) => {
    const own = new Report();
    const shell = {
      newContext: async () => {
        const fresh = await browser.newContext();
        await fresh.route('**/*', (route) => {
          const url = new URL(route.request().url());
          if (url.pathname === '/heavy.js') return route.fulfill({ contentType: 'text/javascript', body: `var a = "${'x'.repeat(41_000)}";` });
          return route.fulfill({ contentType: url.pathname === '/' ? 'text/html' : 'text/css', body: url.pathname === '/' ? html : '' });
        });
        return fresh;
      },
    };
    await weigh(own, shell, PLACE, '/');
    return own.faults.map((fault) => fault.rule);
  };
  report.looked('seeded faults', 3);
  if (!(await heavy('<!doctype html><script src="/heavy.js"></script>')).includes('weight')) blunt('script of 41 kB', 'weight');
  if (!(await heavy('<!doctype html><link rel="stylesheet" href="http://elsewhere.example/a.css">')).includes('outside host')) blunt('style from outside', 'outside host');
  if ((await heavy('<!doctype html><p>x')).length) report.fault('checks themselves', '-', 'bites what is well', 'weight');
}
