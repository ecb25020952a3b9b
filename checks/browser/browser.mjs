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

export async function launch() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-dev-shm-usage', '--force-color-profile=srgb', '--disable-lcd-text'],
  });
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
