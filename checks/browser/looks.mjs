// What is looked for on a page as it lies in the window: nothing cut, nothing sideways, nothing too small to hit.
// These run inside the page; they return lists of [rule, element, words].

/** Geometry, names and contrast of the page as it stands. `wanted.targets` is the least size of a target in CSS px. */
export function look(wanted) {
  const found = [];
  const say = (rule, element, words = '') => found.push([rule, name(element), words]);
  const name = (element) => {
    if (typeof element === 'string') return element;
    const text = (element.getAttribute('aria-label') || element.innerText || element.value || element.id || '').trim().slice(0, 60);
    return `<${element.tagName.toLowerCase()}${element.id ? `#${element.id}` : ''}${element.className && typeof element.className === 'string' ? `.${element.className.trim().split(/\s+/).join('.')}` : ''}> “${text}”`;
  };
  const shown = (element) => {
    const rect = element.getBoundingClientRect();
    const style = getComputedStyle(element);
    return rect.width > 0 && rect.height > 0 && style.visibility === 'visible' && element.checkVisibility() && !hushed(element);
  };
  // Left for those who listen: one pixel, cut on purpose.
  const hushed = (element) => {
    for (let at = element; at && at !== document.body; at = at.parentElement) {
      const rect = at.getBoundingClientRect();
      const style = getComputedStyle(at);
      if (style.position === 'absolute' && (rect.width <= 1 || rect.height <= 1 || rect.right < 0 || rect.bottom < 0)) return true;
    }
    return false;
  };
  const scroller = (element) => {
    for (let at = element.parentElement; at && at !== document.documentElement; at = at.parentElement) {
      if (/auto|scroll/.test(getComputedStyle(at).overflowX)) return at;
    }
    return null;
  };
  const all = [...document.body.querySelectorAll('*')].filter((element) => !element.closest('svg') || element.tagName === 'svg');

  // Sideways
  const width = document.documentElement.clientWidth;
  if (document.scrollingElement.scrollWidth > width + 1) {
    const wide = all.filter((element) => shown(element) && !scroller(element) && element.getBoundingClientRect().right > width + 1);
    // The innermost ones are the cause.
    const inner = wide.filter((element) => !wide.some((other) => other !== element && element.contains(other)));
    say('page scrolls sideways', inner[0] ?? 'page', `${document.scrollingElement.scrollWidth} wide in ${width}; ${inner.slice(1, 3).map(name).join(', ')}`);
  }

  // Cut
  for (const element of all) {
    if (!shown(element) || /^(svg|select|textarea|progress|img|canvas|video)$/i.test(element.tagName)) continue;
    const style = getComputedStyle(element);
    const hides = (way) => way === 'hidden' || way === 'clip';
    if (element.tagName === 'INPUT') continue;
    if (hides(style.overflowX) && element.scrollWidth > element.clientWidth + 1) say('text is cut', element, `${element.scrollWidth} in ${element.clientWidth} wide`);
    if (hides(style.overflowY) && element.scrollHeight > element.clientHeight + 1) say('text is cut', element, `${element.scrollHeight} in ${element.clientHeight} high`);
    if (style.textOverflow === 'ellipsis') say('text is cut', element, 'text-overflow: ellipsis');
    // What sticks out of a box with an edge lies on top of something else.
    if (element.innerText && !/auto|scroll|hidden|clip/.test(style.overflowX + style.overflowY) && style.display !== 'inline' && style.borderTopStyle !== 'none' && parseFloat(style.borderTopWidth) > 0) {
      if (element.scrollWidth > element.clientWidth + 2 && element.clientWidth > 0) say('text sticks out of its box', element, `${element.scrollWidth} in ${element.clientWidth} wide`);
      if (element.scrollHeight > element.clientHeight + 2 && element.clientHeight > 0) say('text sticks out of its box', element, `${element.scrollHeight} in ${element.clientHeight} high`);
    }
  }
  // A column squeezed to a word a line is read by nobody.
  for (const cell of document.querySelectorAll('td, th, dd, dt, p, li')) {
    if (!shown(cell) || cell.children.length > 6) continue;
    const range = document.createRange();
    range.selectNodeContents(cell);
    const inside = range.getBoundingClientRect();
    const line = parseFloat(getComputedStyle(cell).lineHeight) || 20;
    const rem = parseFloat(getComputedStyle(document.documentElement).fontSize);
    const words = cell.innerText.trim().split(/\s+/).length;
    if (inside.width < 7 * rem && inside.height > 8.5 * line && words > 8) say('column too narrow', cell, `${Math.round(inside.width)} wide, ${Math.round(inside.height / line)} lines`);
  }
  // A box for text that is too narrow for what stands in it, or for a reading.
  for (const input of document.querySelectorAll('input')) {
    if (/checkbox|radio|hidden|file|range/.test(input.type) || !shown(input)) continue;
    if (input.value && input.value.length <= 12 && input.scrollWidth > input.clientWidth + 1) say('what was typed is cut', input, input.value);
  }

  // Targets
  const targets = [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button], [tabindex="0"]')].filter(shown);
  const boxes = [];
  for (const element of targets) {
    // A picture that is not fetched yet has no size yet.
    if ([...element.querySelectorAll('img')].some((img) => !img.complete || !img.naturalWidth)) continue;
    if (element.matches('.skip, .scroll') || element.hasAttribute('data-scrolls')) continue;
    let rect = element.getBoundingClientRect();
    if (element.matches('input[type=checkbox], input[type=radio]') && element.labels.length) {
      const label = element.labels[0].getBoundingClientRect();
      rect = { width: Math.max(rect.right, label.right) - Math.min(rect.left, label.left), height: Math.max(rect.bottom, label.bottom) - Math.min(rect.top, label.top), left: Math.min(rect.left, label.left), right: Math.max(rect.right, label.right), top: Math.min(rect.top, label.top), bottom: Math.max(rect.bottom, label.bottom) };
      // A wide gap between box and label is nobody's target.
      if (element.labels[0].contains(element) === false && label.height < wanted.targets - 0.5) rect = { ...rect, height: label.height };
    }
    const style = getComputedStyle(element);
    const sentence = element.tagName === 'A' && style.display === 'inline' && [...element.parentElement.childNodes].some((node) => node !== element && node.nodeType === 3 && node.textContent.trim().length > 1);
    boxes.push([element, rect]);
    if (sentence) continue;
    if (rect.width < wanted.targets - 0.5 || rect.height < wanted.targets - 0.5) say('target too small', element, `${rect.width.toFixed(1)} × ${rect.height.toFixed(1)}`);
  }
  // At the bench a finger is oily and in a hurry: what is pressed is so many millimetres high.
  if (wanted.control) {
    for (const element of document.querySelectorAll('button, .button, select, input:not([type=hidden]):not([type=checkbox]):not([type=radio])')) {
      const { height } = element.getBoundingClientRect();
      if (shown(element) && height < wanted.control - 0.5) say('control too low for a finger', element, `${height.toFixed(1)} px, at least ${wanted.control.toFixed(1)}`);
    }
  }
  for (let one = 0; one < boxes.length; one += 1) {
    for (let other = one + 1; other < Math.min(boxes.length, one + 40); other += 1) {
      const [a, ra] = boxes[one];
      const [b, rb] = boxes[other];
      if (a.contains(b) || b.contains(a) || getComputedStyle(a).position === 'sticky' || a.closest('[data-sticky]') || b.closest('[data-sticky]')) continue;
      const across = Math.min(ra.right, rb.right) - Math.max(ra.left, rb.left);
      const down = Math.min(ra.bottom, rb.bottom) - Math.max(ra.top, rb.top);
      if (across > 2 && down > 2 && !fixed(a) && !fixed(b)) say('targets lie on each other', a, name(b));
    }
  }
  function fixed(element) {
    for (let at = element; at && at !== document.body; at = at.parentElement) if (/fixed|sticky/.test(getComputedStyle(at).position)) return true;
    return false;
  }

  // A bar that stays takes its room from a window that has little.
  for (const element of all) {
    const style = getComputedStyle(element);
    if (!/fixed|sticky/.test(style.position) || !shown(element)) continue;
    const rect = element.getBoundingClientRect();
    if (rect.width > innerWidth / 2 && rect.height > innerHeight / 8) say('bar takes too much of the window', element, `${Math.round(rect.height)} of ${innerHeight}`);
  }

  // Contrast of every text with what is behind it. A ground that is a picture is left to the token list.
  const rgb = (text) => (text.match(/[\d.]+/g) ?? []).map(Number);
  const light = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map((c) => c / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const style = getComputedStyle(at);
      const colour = rgb(style.backgroundColor);
      if (colour.length === 3 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  let texts = 0;
  if (wanted.contrast) {
    for (const element of all) {
      const own = [...element.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
      if (!(own || (element.tagName === 'INPUT' && element.value)) || !shown(element)) continue;
      texts += 1;
      const style = getComputedStyle(element);
      const [low, high] = [light(rgb(style.color)), light(ground(element))].sort((a, b) => a - b);
      const ratio = (high + 0.05) / (low + 0.05);
      const least = element.matches('input, output, .reading, td.fig, .fig') && !element.closest('button, a') ? Math.min(7, 7) : 5.5;
      const word = element.closest('.look-word, .stop-word, .fault');
      if (ratio < (word ? 5.5 : least)) say('contrast', element, `${ratio.toFixed(2)} of at least ${least}`);
      if (parseFloat(style.fontSize) < parseFloat(getComputedStyle(document.documentElement).fontSize) - 0.1 && element.closest('svg') === null) say('text under 1 rem', element, style.fontSize);
    }
  }

  // Letters in a drawing lie on the ground of the panel around it, or on hatching, which ink and the rest pass too.
  if (wanted.contrast) {
    for (const element of document.querySelectorAll('svg text')) {
      if (!element.checkVisibility() || !element.textContent.trim()) continue;
      texts += 1;
      const [low, high] = [light(rgb(getComputedStyle(element).fill)), light(ground(element.ownerSVGElement))].sort((a, b) => a - b);
      const ratio = (high + 0.05) / (low + 0.05);
      if (ratio < 5.5) say('contrast', `<text> “${element.textContent}”`, `${ratio.toFixed(2)} of at least 5.5`);
      // As large as it is drawn, also where a drawing is cut to its box.
      const size = parseFloat(getComputedStyle(element).fontSize) * element.getScreenCTM().d;
      if (size < parseFloat(getComputedStyle(document.documentElement).fontSize) - 0.5) say('text under 1 rem', `<text> “${element.textContent}”`, `${size.toFixed(1)} px`);
    }
  }

  // Build of the page
  const ones = [...document.querySelectorAll('h1')].filter((one) => one.checkVisibility());
  if (ones.length !== 1) say('one h1 per page', 'h1', `${ones.length} found`);
  const ids = new Map();
  for (const element of document.querySelectorAll('[id]')) ids.set(element.id, (ids.get(element.id) ?? 0) + 1);
  for (const [id, times] of ids) if (times > 1) say('id used twice', `#${id}`);
  for (const head of document.querySelectorAll('th:not([scope])')) say('th without scope', head);
  for (const element of document.querySelectorAll('[style], style, script:not([src])')) say('style or script in the page', element);
  for (const element of document.querySelectorAll('[title]')) say('tooltip', element);
  for (const element of document.querySelectorAll('[placeholder]')) say('placeholder', element);
  for (const element of document.querySelectorAll('[autofocus]')) if (!/INPUT|SELECT|TEXTAREA/.test(element.tagName)) say('autofocus on no field', element);
  for (const element of document.querySelectorAll('label')) if (!element.control) say('label of nothing', element);
  return { found, targets: targets.length, nodes: document.querySelectorAll('*').length, texts };
}

/** The words that people read on the page, with the element they stand in. A `pre` is a table of shares, which may say %. */
export function readWords() {
  const lines = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.textContent.replace(/\s+/g, ' ').trim();
    const parent = walker.currentNode.parentElement;
    if (text && !parent.closest('script, pre, [data-typed], textarea')) lines.push([parent.tagName.toLowerCase(), text]);
  }
  return lines;
}

/** What must be in the first view without scrolling, and is not. `wanted` maps a word to an element's selector or text. */
export function firstView(elements) {
  return elements.filter(([, element]) => {
    if (!element) return true;
    const rect = element.getBoundingClientRect();
    return rect.height === 0 || rect.top < 0 || rect.bottom > innerHeight || rect.left < 0 || rect.right > innerWidth;
  }).map(([word]) => word);
}

/** Whether digits typed now would land in a box, and in which. */
export function typingGoesTo() {
  const element = document.activeElement;
  if (!element || !element.matches('input:not([type=checkbox]):not([type=radio]):not([type=hidden]), textarea')) {
    return { box: false, name: element ? element.tagName.toLowerCase() + ' ' + (element.innerText || '').trim().slice(0, 40) : 'nothing' };
  }
  return { box: true, name: [...(element.labels || [])].map((label) => label.innerText.trim()).join(' '), value: element.value };
}
