// Every page that links lead to, looked at in every window.

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { axe } from './axe.mjs';
import { NARROW, SIZES, judged, listen, resize, rest } from './browser.mjs';
import { walkFocus } from './focus.mjs';
import { look, readWords } from './looks.mjs';
import { faultsOf } from './words.mjs';

const LEAST_TARGET = 44;
const MOST_PAGES = 400;
/** Nodes of a page, at most. */
const MOST_NODES = 1500;

/** Least height of a control on a tablet of 149 CSS px to the inch: 9 mm at desk size, 12 mm at bench size. */
const CONTROL = { tablet: (9 / 25.4) * 149, bench: (12 / 25.4) * 149 };

/** The spacing that a reader may set (WCAG 1.4.12). */
const SPACING = '* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important; } p { margin-bottom: 2em !important; }';

/** A name for the file of a picture. */
export function fileName(text) {
  return text.replace(/[0-9a-f]{32}/g, 'entry').replace(/^\/+/, '').replace(/[^a-z0-9]+/gi, '-').replace(/^-+|-+$/g, '').toLowerCase().slice(0, 90) || 'start';
}

/**
 * Looks at the page that is open, in every window, and takes its pictures. `state` says what is to be seen on it.
 */
export async function inspect(report, page, state, screens, { walk = true, narrow = true, pictures = true, brief = false } = {}) {
  mkdirSync(screens, { recursive: true });
  const words = await page.evaluate(readWords);
  for (const [tag, text] of words) {
    for (const [rule, word] of faultsOf(text)) report.fault(state, '-', `word: ${rule}`, `<${tag}> ${word}`);
  }
  if (!words.length) report.fault(state, '-', 'empty page', 'body');
  const looks = async (sizeName, wanted = {}) => {
    const { found, nodes } = await page.evaluate(look, { targets: LEAST_TARGET, contrast: false, ...wanted });
    report.looked('looks through a window');
    for (const [rule, element, says] of found) report.fault(state, sizeName, rule, element, says);
    return nodes;
  };
  for (const [sizeName, size] of Object.entries(SIZES)) {
    if (brief && (sizeName === 'bench' || sizeName === 'tablet')) continue;
    await resize(page, size);
    const nodes = await looks(sizeName, { contrast: true, control: CONTROL[sizeName] });
    if (sizeName === 'desk' && nodes > MOST_NODES) report.fault(state, sizeName, 'too many nodes', 'page', `${nodes}, at most ${MOST_NODES}`);
    await axe(report, page, state, sizeName);
    if (pictures) {
      await page.evaluate(() => window.scrollTo(0, 0));
      await page.screenshot({ path: join(screens, `${fileName(state)}--${sizeName}.png`), fullPage: true, animations: 'disabled', caret: 'initial' });
      report.looked('pictures');
    }
    if (walk && (sizeName === 'desk' || sizeName === 'phone')) await walkFocus(report, page, state, sizeName);
  }
  if (narrow) {
    for (const [sizeName, size] of Object.entries(NARROW)) {
      await resize(page, size);
      await looks(sizeName);
    }
    if (walk) await walkFocus(report, page, state, 'phone bench');
    // Spacing of a reader's own, then letters twice as large.
    await resize(page, SIZES.phone);
    await page.evaluate((text) => {
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(text);
      document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
    }, SPACING);
    await looks('phone, wide spacing');
    await resize(page, SIZES.desk);
    await looks('desk, wide spacing');
    await page.evaluate(() => { document.adoptedStyleSheets = []; });
    await page.evaluate(() => {
      const sheet = new CSSStyleSheet();
      sheet.replaceSync('html { font-size: 36px !important; }');
      document.adoptedStyleSheets = [sheet];
    });
    await looks('desk, letters doubled');
    await page.evaluate(() => { document.adoptedStyleSheets = []; });
  }
  await resize(page, SIZES.desk);
}

/** Every form of the page, by what it does. Runs in the page. */
function formsOf() {
  return [...document.querySelectorAll('main form')].filter((form) => form.method === 'post').flatMap((form) => {
    const at = [...document.querySelectorAll('form')].indexOf(form);
    const buttons = [...form.querySelectorAll('button:not([type=button])')];
    return buttons.map((button, nth) => ({ at, nth, action: new URL(form.action).pathname, says: button.textContent.trim() }));
  });
}

/** What a page is: its address without numbers, and where the job stands. */
async function kindOf(page) {
  const { path, stage, heading, states } = await page.evaluate(() => ({
    path: location.pathname,
    stage: [...document.querySelectorAll('.title-block p')].map((p) => p.innerText).find((text) => /^(Booked in|Measuring|To decide|At the grinder|At treatment|Final check|Ready|Collected)/i.test(text)) ?? '',
    heading: document.querySelector('h1')?.innerText ?? '',
    states: [...document.querySelectorAll('.banner, [data-state]')].map((one) => one.dataset.state ?? one.innerText.split('.')[0].slice(0, 20)),
  }));
  const parts = path.replace(/\d+/g, 'n').replace(/^\/batches\/(?!new).+/, '/batches/name');
  return { key: [parts, stage, states.join()].join(' · '), path, heading, stage, parts };
}

/** Follows the links from `/jobs` and looks at one page of each kind. */
export async function survey(report, browser, server, screens, { only = null, workers = 2, also = [] } = {}) {
  const queue = [...also, '/jobs', '/jobs/new', '/batches', '/shop', '/words', '/jobs?search=nobody-has-this', '/jobs?stage=collected', '/jobs/9999/measure', '/jobs/abc', '/no-such-page'];
  const known = new Set(queue);
  const kinds = new Map();
  const sorts = new Map();
  const stages = new Map();
  const forms = new Map();
  let visited = 0;
  let busy = 0;
  const worker = async () => {
    const context = await browser.newContext({ viewport: SIZES.desk });
    const page = await context.newPage();
    let state = '';
    listen(report, page, () => state || page.url());
    while ((queue.length || busy) && visited < MOST_PAGES) {
      const path = queue.shift();
      if (!path) {
        await new Promise((done) => setTimeout(done, 50));
        continue;
      }
      busy += 1;
      visited += 1;
      try {
        state = path;
        const response = await page.goto(server.address + path);
        await rest(page);
        const status = response.status();
        const lost = path === '/no-such-page' || path === '/jobs/abc' || path.startsWith('/jobs/9999');
        if (lost ? status !== 404 : status !== 200) {
          report.fault(path, '-', 'status', 'page', `${status}: ${(await page.evaluate(() => document.body.innerText)).slice(0, 200)}`);
        }
        const type = response.headers()['content-type'] ?? '';
        if (type.startsWith('text/html')) {
          // Figures that come while the page is looked at would put another page under the eyes.
          await judged(page);
          const links = await page.evaluate(() => [...document.querySelectorAll('a[href]')].filter((a) => !a.hasAttribute('download')).map((a) => a.getAttribute('href')));
          for (const link of links) {
            const url = new URL(link, page.url());
            if (url.origin !== server.address) {
              report.fault(path, '-', 'link to outside', link);
              continue;
            }
            const next = url.pathname + url.search;
            // Of links that differ only in what they ask for, two of each sort are followed.
            const sort = `${url.pathname.replace(/\d+/g, 'n')}?${[...url.searchParams.keys()].sort()}`;
            if (url.search && !known.has(next)) {
              sorts.set(sort, (sorts.get(sort) ?? 0) + 1);
              if (sorts.get(sort) > 2) continue;
            }
            if (/^\/(static|api|photos?|pictures?)\//.test(next) || /\.(toml|csv|json|jpe?g|png|svg)$/.test(url.pathname) || known.has(next)) continue;
            known.add(next);
            queue.push(next);
          }
          const kind = await kindOf(page);
          for (const form of await page.evaluate(formsOf)) {
            const what = `${kind.parts} · ${form.action.replace(/\d+/g, 'n')} · ${form.says.replace(/[\d.]+/g, 'n').replace(/ at .*| of .*/, '')}`;
            if (!forms.has(what) && (!only || only.test(what))) forms.set(what, { path, ...form });
          }
          const key = lost ? path : `${kind.key}${path.includes('?') ? ` asked for ${[...new URL(page.url()).searchParams.keys()].sort()}` : ''}`;
          if (!kinds.has(key) && (!only || only.test(key))) {
            kinds.set(key, path);
            state = `${path}${kind.stage ? ` (${kind.stage})` : ''}`;
            // The fourth stage of the same page is laid out like the first three.
            stages.set(kind.parts, (stages.get(kind.parts) ?? 0) + 1);
            const brief = stages.get(kind.parts) > 3;
            await inspect(report, page, state, screens, { brief, walk: !brief, narrow: !brief });
          }
        }
      } catch (error) {
        report.fault(path, '-', 'not looked at', 'page', error.message);
      } finally {
        busy -= 1;
      }
    }
    await context.close();
  };
  await Promise.all(Array.from({ length: workers }, worker));
  report.looked('pages visited', visited);
  report.looked('kinds of page', kinds.size);
  return { kinds, forms };
}
