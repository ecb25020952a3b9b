// Tab through a page: every stop shows, has a name, is not hidden, comes in the order of reading, and Tab leads out.

/** What has the focus: whether it shows, and whether something lies over it. Runs in the page. */
function stop() {
  const element = document.activeElement;
  if (!element || element === document.body || element === document.documentElement) return null;
  const rect = element.getBoundingClientRect();
  const style = getComputedStyle(element);
  const ring = (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2) || /\d/.test(style.boxShadow.replace(/rgba?\([^)]*\)/g, '').replace(/\b0px\b/g, ''));
  if (!element.dataset.stop) element.dataset.stop = String((window.stops = (window.stops ?? 0) + 1));
  const label = element.labels && element.labels.length ? [...element.labels].map((one) => one.innerText).join(' ') : '';
  const by = (element.getAttribute('aria-labelledby') ?? '').split(/\s+/).map((id) => document.getElementById(id)?.innerText ?? '').join(' ');
  const name = (element.getAttribute('aria-label') || by.trim() || label || element.innerText || element.querySelector('img[alt]')?.alt || element.value || '').trim();
  // Points inside the stop; what lies on top of them must be the stop itself or its own parts.
  const at = (x, y) => {
    const on = document.elementFromPoint(x, y);
    return !on || on === element || element.contains(on) || on.contains(element) || [...(element.labels ?? [])].includes(on);
  };
  const inset = 3;
  const rects = [...element.getClientRects()].filter((r) => r.width > 0 && r.height > 0);
  const box = rects[0] ?? rect;
  const points = [[box.left + box.width / 2, box.top + box.height / 2], [box.left + inset, box.top + inset], [box.right - inset, box.top + inset], [box.left + inset, box.bottom - inset], [box.right - inset, box.bottom - inset]];
  const inside = points.filter(([x, y]) => x >= 0 && y >= 0 && x < innerWidth && y < innerHeight);
  const hidden = inside.filter(([x, y]) => !at(x, y)).length;
  const index = [...document.querySelectorAll('*')].indexOf(element);
  return { id: element.dataset.stop, tag: element.tagName.toLowerCase(), name, ring, hidden, seen: inside.length, rect: [rect.left, rect.top, rect.width, rect.height].map(Math.round), index, parts: /^(date|time|month|week|datetime-local)$/.test(element.type ?? '') };
}

/** How many stops there should be. Runs in the page. */
function expected() {
  const shown = (element) => element.getClientRects().length > 0 && element.checkVisibility({ visibilityProperty: true });
  const all = [...document.querySelectorAll('a[href], button:not([disabled]), input:not([type=hidden]):not([disabled]), select:not([disabled]), textarea:not([disabled]), summary, [tabindex="0"]')].filter(shown);
  // Of the choices with one name only one is a stop.
  const names = new Set();
  return all.filter((element) => {
    if (element.getAttribute('tabindex') === '-1') return false;
    if (element.type !== 'radio') return true;
    const key = `${element.form?.id ?? ''} ${element.form?.action ?? ''} ${element.name}`;
    return !names.has(key) && names.add(key);
  }).length;
}

export async function walkFocus(report, page, address, size) {
  const say = (rule, element, words) => report.fault(address, size, rule, element, words);
  await page.evaluate(() => {
    if (document.activeElement) document.activeElement.blur();
    window.scrollTo(0, 0);
    // The walk begins where reading begins.
    document.body.tabIndex = -1;
    document.body.focus();
    document.body.removeAttribute('tabindex');
    window.stops = 0;
    for (const element of document.querySelectorAll('[data-stop]')) delete element.dataset.stop;
  });
  const most = await page.evaluate(expected);
  const seen = new Map();
  let last = -1;
  let left = false;
  let parts = 0;
  for (let press = 0; press < most + 6; press += 1) {
    await page.keyboard.press('Tab');
    const now = await page.evaluate(stop);
    if (!now) {
      left = true;
      break;
    }
    // A date is one field of several parts, and Tab stops at each.
    if (now.parts && now.id === [...seen.keys()].pop()) {
      press -= 1;
      if ((parts += 1) > 8) break;
      continue;
    }
    parts = 0;
    if (seen.has(now.id)) {
      // A window of a browser without a frame goes round: fine once everything was visited.
      if (seen.size >= most || now.id === [...seen.keys()][0]) left = true;
      else say('Tab is trapped', `<${now.tag}> “${now.name}”`, `comes again after ${seen.size} of ${most} stops`);
      break;
    }
    seen.set(now.id, now);
    const element = `<${now.tag}> “${now.name.slice(0, 60)}”`;
    if (!now.name && !/^(div|section|main|table)$/.test(now.tag)) say('stop without a name', element);
    if (!now.ring) say('focus does not show', element);
    if (now.seen === 0 && now.rect[2] > 0) say('focus out of sight', element, now.rect.join(' '));
    else if (now.hidden > 0) say('focus is hidden', element, `${now.hidden} of ${now.seen} points lie under something`);
    if (now.index < last) say('order of focus', element, 'comes before what was visited');
    last = now.index;
  }
  if (!left && seen.size < most) say('Tab does not reach everything', 'page', `${seen.size} of ${most} stops`);
  else if (!left) say('Tab does not leave the page', 'page', `after ${seen.size} stops`);
  else if (seen.size < most) say('Tab does not reach everything', 'page', `${seen.size} of ${most} stops`);
  await page.evaluate(() => document.activeElement && document.activeElement.blur());
  report.looked('stops of the Tab key', seen.size);
  return [...seen.values()];
}
