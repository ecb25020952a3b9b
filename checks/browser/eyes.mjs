// Pages as other eyes see them: colours that the system forces, no colour at all, colour-blindness, no movement.

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { judged } from './browser.mjs';
import { walkFocus } from './focus.mjs';
import { fileName } from './pages.mjs';

const DEFICIENCIES = ['achromatopsia', 'deuteranopia', 'protanopia', 'tritanopia', 'blurredVision'];

/** What must survive when the system sets the colours: edges of what can be pressed, and lines that carry a state. */
function edges() {
  const found = [];
  const shown = (element) => element.getClientRects().length > 0;
  for (const element of document.querySelectorAll('button, .button, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select, textarea, .panel')) {
    if (!shown(element)) continue;
    const style = getComputedStyle(element);
    if (parseFloat(style.borderTopWidth) < 1 || style.borderTopStyle === 'none' || style.borderTopColor === style.backgroundColor) {
      found.push(`<${element.tagName.toLowerCase()}> “${(element.innerText || element.id || '').trim().slice(0, 40)}”`);
    }
  }
  // A dot that is empty must not look full: the hole in it has the colour of the ground.
  for (const drawing of document.querySelectorAll('main svg')) {
    const strokes = [...drawing.querySelectorAll('path')].map((path) => getComputedStyle(path).stroke).filter((stroke) => stroke !== 'none');
    if (drawing.querySelector('.hole') && new Set(strokes).size < 2) found.push('empty dots look full');
  }
  return found;
}

/** Everything that moves by itself. */
function moves() {
  const found = document.getAnimations ? document.getAnimations().map((one) => one.effect?.target?.outerHTML?.slice(0, 80) ?? 'something') : [];
  for (const element of document.querySelectorAll('*')) {
    const style = getComputedStyle(element);
    const lasting = (text) => text.split(',').some((one) => parseFloat(one) > 0);
    if (lasting(style.animationDuration) && style.animationName !== 'none') found.push(`animation ${style.animationName}`);
    if (lasting(style.transitionDuration)) found.push(`transition on <${element.tagName.toLowerCase()}>`);
    if (style.scrollBehavior === 'smooth') found.push(`smooth scrolling of <${element.tagName.toLowerCase()}>`);
  }
  return found;
}

export async function look(report, browser, server, paths, screens) {
  mkdirSync(screens, { recursive: true });
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  const session = await context.newCDPSession(page);
  const picture = (path, what) => page.screenshot({ path: join(screens, `${fileName(path)}--${what}.png`), fullPage: true, caret: 'initial' });
  for (const path of paths) {
    await page.goto(server.address + path);
    await judged(page);
    await page.emulateMedia({ forcedColors: 'active' });
    await picture(path, 'forced colours');
    for (const element of await page.evaluate(edges)) report.fault(path, 'forced colours', 'edge is lost', element);
    await walkFocus(report, page, path, 'forced colours');
    await page.emulateMedia({ forcedColors: 'active', colorScheme: 'dark' });
    await picture(path, 'forced colours, dark');
    await page.emulateMedia({ forcedColors: 'none', colorScheme: 'light', reducedMotion: 'reduce', contrast: 'more' });
    for (const what of await page.evaluate(moves)) report.fault(path, 'reduced motion', 'moves all the same', what);
    await page.emulateMedia({ forcedColors: 'none', colorScheme: 'light', reducedMotion: 'no-preference', contrast: 'no-preference' });
    for (const type of DEFICIENCIES) {
      await session.send('Emulation.setEmulatedVisionDeficiency', { type });
      await picture(path, type);
    }
    await session.send('Emulation.setEmulatedVisionDeficiency', { type: 'none' });
    report.looked('pages with other eyes');
  }
  await context.close();
}
