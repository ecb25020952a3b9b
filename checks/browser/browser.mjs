// Debian's Chromium, the windows we look through, and what the looking is done with.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

export const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** The windows: where people stand, and how large they want the type. */
export const SIZES = {
  desk: { width: 1280, height: 800, type: 'desk' },
  bench: { width: 1280, height: 800, type: 'bench' },
  tablet: { width: 768, height: 1024, type: 'desk' },
  phone: { width: 360, height: 740, type: 'desk' },
};

/** The narrow windows of the reflow checks. Zoom is a narrower window with finer pixels. */
export const NARROW = {
  'narrow 320': { width: 320, height: 640, type: 'desk' },
  'zoom 200': { width: 640, height: 450, type: 'desk' },
  'zoom 400': { width: 320, height: 256, type: 'desk' },
  'far 1280': { width: 1280, height: 800, type: 'far' },
  'phone bench': { width: 360, height: 740, type: 'bench' },
};

/**
 * How long anything may take to come before it counts as not coming. Nothing waits so long unless it fails: what is waited
 * for is a state, looked for again and again, so that a machine with other work is only slower.
 */
export const PATIENCE_MS = 120_000;
const EVERY_MS = 25;

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** Asks again until the answer is true, and returns it; `what` says in the fault what did not come. */
export async function waitUntil(what, ask) {
  const by = Date.now() + PATIENCE_MS;
  for (;;) {
    const answer = await ask();
    if (answer) return answer;
    if (Date.now() > by) throw new Error(`waited ${PATIENCE_MS / 1000} s for ${what}`);
    await pause(EVERY_MS);
  }
}

/** As `waitUntil`, for a check that words its own fault: the last answer, whether it came true or not. */
export async function inTime(ask, holds, patienceMs = PATIENCE_MS) {
  const by = Date.now() + patienceMs;
  for (;;) {
    const answer = await ask();
    if (holds(answer) || Date.now() > by) return answer;
    await pause(EVERY_MS);
  }
}

/** The browser was asked and has not answered: neither yes nor no. */
export class Unanswered extends Error {}

/** What has been wrapped: the classes are the same for every page. */
const limited = new WeakSet();

/**
 * Gives a limit to every question that the browser is asked. Most have one of their own, keys and questions to the page have
 * none: a browser that stops answering would hold the whole run until somebody ends it, and nobody would know where.
 */
function limit(...things) {
  for (const thing of things) {
    const made = Object.getPrototypeOf(thing);
    if (limited.has(made)) continue;
    limited.add(made);
    for (const name of Object.getOwnPropertyNames(made)) {
      const { value: asked } = Object.getOwnPropertyDescriptor(made, name);
      if (name === 'constructor' || name.startsWith('_') || typeof asked !== 'function') continue;
      made[name] = function inLimit(...words) {
        const answer = asked.apply(this, words);
        return answer instanceof Promise ? within(answer, `${made.constructor.name}.${name}(${words.map(String).join(', ').slice(0, 200)})`) : answer;
      };
    }
  }
}

/** The answer, or `Unanswered` when it takes twice as long as the browser itself would wait. */
function within(answer, what) {
  let timer;
  const tooLong = new Promise((_, failed) => {
    timer = setTimeout(() => failed(new Unanswered(`no answer in ${2 * PATIENCE_MS / 1000} s to ${what}`)), 2 * PATIENCE_MS);
  });
  return Promise.race([answer, tooLong]).finally(() => clearTimeout(timer));
}

export async function launch() {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-dev-shm-usage', '--force-color-profile=srgb', '--disable-lcd-text'],
    timeout: PATIENCE_MS,
  });
  limit(browser);
  const open = browser.newContext.bind(browser);
  browser.newContext = async (options) => {
    const context = await open(options);
    limit(context);
    const another = context.newPage.bind(context);
    context.newPage = async () => {
      const page = await another();
      limit(page, page.mainFrame(), page.locator('main'), page.keyboard);
      return page;
    };
    context.setDefaultTimeout(PATIENCE_MS);
    context.setDefaultNavigationTimeout(PATIENCE_MS);
    // A page that was told to go to another one says so: until that one is there, what stands on it is old.
    await context.addInitScript(() => {
      if (!window.navigation) return;
      window.navigation.addEventListener('navigate', (event) => {
        if (!event.destination.sameDocument && event.downloadRequest === null) window.leaving = true;
      });
    });
    return context;
  };
  return browser;
}

/** Does what leads to another page, and waits until that page is there and rests. */
export async function follow(page, act) {
  const loaded = page.waitForEvent('load');
  await act();
  await loaded;
  await rest(page);
}

/** Asks the page, and asks again where it was just being changed for another. */
export async function steady(page, ask, wanted) {
  return waitUntil('a page that stays', async () => {
    try {
      return { is: await page.evaluate(ask, wanted) };
    } catch (error) {
      if (!/context was destroyed|navigat/i.test(error.message)) throw error;
      return null;
    }
  }).then((answer) => answer.is);
}

/** Waits until nothing is on its way: no page that was asked for, and no reading that the program has not answered. */
export async function answered(page) {
  await waitUntil(`an answer to what was sent from ${page.url()}`, () => steady(page, () => {
    if (document.readyState !== 'complete' || window.leaving) return false;
    const job = location.pathname.match(/^\/jobs\/(\d+)/);
    try {
      return !job || !localStorage.getItem(`readings of job ${job[1]}`);
    } catch {
      return true; // a browser that keeps nothing
    }
  }));
}

/** Waits until the program has worked out what the page shows, asking for the page again as its link does. */
export async function judged(page) {
  await waitUntil(`figures that are still being worked out for ${page.url()}`, async () => {
    await rest(page);
    if (!(await page.locator('[data-working]').count())) return true;
    await pause(200);
    await page.reload();
    return false;
  });
}

/** Where typing goes once the page has put the focus where it wants it: browsers do that after they say that it is loaded. */
export async function typingIn(page, asks) {
  return inTime(() => steady(page, asks), (typing) => typing.box, 15_000);
}

/** Sets window and type without loading the page again. */
export async function resize(page, size) {
  await page.setViewportSize({ width: size.width, height: size.height });
  await page.evaluate((type) => {
    const root = document.documentElement;
    root.className = root.className.replace(/\bsize-\w+/g, '').trim();
    root.classList.add(`size-${type}`);
    return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  }, size.type);
}

/** Waits until the page rests: loaded, its type there. */
export async function rest(page) {
  await page.waitForLoadState('load');
  await page.evaluate(() => document.fonts && document.fonts.ready);
}

/** Everything that the browser itself complains about goes into the report. */
export function listen(report, page, says = () => page.url()) {
  page.on('pageerror', (error) => report.fault(says(), '-', 'script fault', error.message));
  page.on('console', (message) => {
    const text = message.text();
    if (message.type() === 'error' && !/status of (4\d\d|507)|ERR_(INTERNET_DISCONNECTED|CONNECTION_REFUSED|CONNECTION_RESET|EMPTY_RESPONSE|FAILED)/.test(text)) {
      report.fault(says(), '-', 'console', text);
    }
  });
}
