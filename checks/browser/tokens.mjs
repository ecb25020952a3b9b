// The colours: every one is a token of the style, and every pair that meets is far enough apart.

/** What may stand on what, and how far apart they must be at least (WCAG contrast ratio). */
const BODY = 7;
const TEXT = 5.5;
const LINE = 3;
const PAIRS = [
  ['ink', 'film', BODY], ['ink', 'paper', BODY], ['ink', 'well', BODY], ['ink', 'act-tint', BODY],
  ['ink', 'look-tint', BODY], ['ink', 'stop-tint', BODY],
  ['ink-2', 'film', BODY], ['ink-2', 'paper', BODY], ['ink-2', 'well', TEXT],
  ['act', 'film', TEXT], ['act', 'paper', TEXT], ['act', 'well', TEXT], ['paper', 'act', TEXT],
  ['look', 'film', TEXT], ['look', 'paper', TEXT], ['look', 'well', TEXT], ['look', 'look-tint', TEXT],
  ['stop', 'film', TEXT], ['stop', 'paper', TEXT], ['stop', 'well', TEXT], ['stop', 'stop-tint', TEXT],
  ['paper', 'stop', TEXT], ['paper', 'ink', BODY],
  ['rule', 'film', LINE], ['rule', 'paper', LINE], ['rule', 'well', LINE],
  ['look-line', 'film', LINE], ['look-line', 'paper', LINE], ['look-line', 'well', LINE],
  ['stop', 'film', LINE], ['stop', 'paper', LINE], ['ink', 'film', LINE],
  // The ring of focus is ink outside and white inside; one of the two shows on anything.
  ['ring', 'ink', LINE],
];
/** Tokens that carry no meaning by themselves. */
const DECORATION = new Set(['hair']);
/** Paper knows black and white only. */
const PRINT = new Set(['#000', '#fff', '#000000', '#ffffff']);
const NAMED = /(?<![-\w#.])(white|black|red|green|blue|grey|gray|silver|orange|yellow|purple|brown|navy|maroon|teal|olive|lime|aqua|fuchsia|pink|gold|crimson|beige|ivory)(?![-\w])/gi;
const MADE = /\b(rgba?|hsla?|hwb|lab|lch|oklab|oklch|color|color-mix)\(/gi;

/** Relative luminance after WCAG 2.2. */
export function luminance(hex) {
  const wide = hex.length === 4 ? `#${[...hex.slice(1)].map((c) => c + c).join('')}` : hex;
  const [r, g, b] = [1, 3, 5].map((at) => parseInt(wide.slice(at, at + 2), 16) / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** Contrast ratio after WCAG 2.2. */
export function contrast(one, other) {
  const [low, high] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (high + 0.05) / (low + 0.05);
}

/** The rules of a style sheet, each with its selector, its declarations and the at-rules around it. */
export function rules(css) {
  const plain = css.replace(/\/\*[\s\S]*?\*\//g, (comment) => comment.replace(/[^\n]/g, ' '));
  const found = [];
  const around = [];
  let from = 0;
  for (let at = 0; at < plain.length; at += 1) {
    if (plain[at] === '"' || plain[at] === "'") {
      at = plain.indexOf(plain[at], at + 1);
      if (at < 0) break;
    } else if (plain[at] === '{') {
      around.push({ head: plain.slice(from, at).trim(), start: at + 1, nested: false });
      if (around.length > 1) around[around.length - 2].nested = true;
      from = at + 1;
    } else if (plain[at] === '}') {
      const block = around.pop();
      if (!block) throw new Error('a style sheet closes more blocks than it opens');
      if (!block.nested) {
        found.push({ selector: block.head, body: plain.slice(block.start, at), around: around.map((b) => b.head) });
      }
      from = at + 1;
    } else if (plain[at] === ';' && around.length === 0) from = at + 1;
  }
  if (around.length) throw new Error('a style sheet leaves a block open');
  return found;
}

/** The declarations of a rule. */
function declarations(body) {
  return body.split(/;(?![^(]*\))/).map((line) => line.trim()).filter(Boolean).map((line) => {
    const colon = line.indexOf(':');
    return [line.slice(0, colon).trim(), line.slice(colon + 1).trim()];
  });
}

/** Looks through `files`, a map from name to text. */
export function checkTokens(report, files) {
  const tokens = new Map();
  for (const [, css] of files) {
    for (const rule of rules(css)) {
      if (rule.selector !== ':root' || rule.around.length) continue;
      for (const [name, value] of declarations(rule.body)) {
        if (name.startsWith('--') && /^#[0-9a-f]{3,8}$/i.test(value)) tokens.set(name.slice(2), value);
      }
    }
  }
  const met = new Set(PAIRS.flatMap(([one, other]) => [one, other]));
  for (const name of tokens.keys()) {
    if (!met.has(name) && !DECORATION.has(name)) report.fault('tokens', '-', 'token without a pair', `--${name}`, 'say in checks/browser/tokens.mjs what it stands on');
  }
  for (const [one, other, least] of PAIRS) {
    if (!tokens.has(one) || !tokens.has(other)) {
      report.fault('tokens', '-', 'token missing', tokens.has(one) ? `--${other}` : `--${one}`);
      continue;
    }
    report.looked('pairs of colours');
    const ratio = contrast(tokens.get(one), tokens.get(other));
    if (ratio < least) report.fault('tokens', '-', 'contrast', `--${one} on --${other}`, `${ratio.toFixed(2)}, at least ${least}`);
  }
  for (const [file, css] of files) {
    for (const rule of rules(css)) {
      if (rule.selector === ':root' && !rule.around.length) continue;
      const print = rule.around.some((head) => head.startsWith('@media print'));
      const pair = {};
      for (const [name, value] of declarations(rule.body)) {
        report.looked('declarations of style');
        for (const hex of value.match(/#[0-9a-f]{3,8}\b/gi) ?? []) {
          if (!(print && PRINT.has(hex.toLowerCase()))) report.fault(file, '-', 'colour outside the tokens', rule.selector, `${name}: ${value}`);
        }
        for (const made of [...(value.match(NAMED) ?? []), ...(value.match(MADE) ?? [])]) {
          report.fault(file, '-', 'colour outside the tokens', rule.selector, `${name}: ${made}`);
        }
        for (const [, used] of value.matchAll(/var\(--([\w-]+)/g)) {
          if (!tokens.has(used) && !defined(files, used)) report.fault(file, '-', 'unknown token', rule.selector, `--${used}`);
        }
        if (name === 'color') pair.text = value.match(/^var\(--([\w-]+)\)$/)?.[1];
        if (name === 'background' || name === 'background-color') pair.ground = value.match(/^var\(--([\w-]+)\)$/)?.[1];
        if (name === 'text-transform' && value === 'uppercase') report.fault(file, '-', 'all capitals', rule.selector);
        if (name === 'opacity' && Number(value) > 0 && Number(value) < 1) report.fault(file, '-', 'faded text', rule.selector, `opacity ${value} lowers contrast unseen`);
        if (/^(border(-[a-z]+)*-radius|border-radius|box-shadow|filter)$/.test(name) && !/^(0|none|0 0 0 \d)/.test(value)) {
          report.fault(file, '-', 'no rounded corners, no shadows', rule.selector, `${name}: ${value}`);
        }
      }
      if (pair.text && pair.ground && !PAIRS.some(([one, other, least]) => one === pair.text && other === pair.ground && least >= TEXT)) {
        report.fault(file, '-', 'pair not looked at', rule.selector, `--${pair.text} on --${pair.ground}`);
      }
    }
  }
}

function defined(files, name) {
  return [...files.values()].some((css) => css.includes(`--${name}:`));
}
