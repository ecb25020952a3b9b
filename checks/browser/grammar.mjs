// What the oldest browsers we serve can read: Safari 12.1 and Chrome 80.

import { parse } from 'acorn';
import { rules } from './tokens.mjs';

/** What Safari 12.1 has not: names of objects and methods, by the first version that knows them (caniuse.com, MDN). */
const METHODS = [
  'replaceAll', 'matchAll', 'replaceChildren', 'requestSubmit', 'showModal', 'allSettled', 'randomUUID', 'structuredClone',
  'ResizeObserver', 'BroadcastChannel', 'requestIdleCallback', 'findLast', 'findLastIndex', 'hasOwn', 'toSorted', 'toReversed',
  'checkVisibility', 'togglePopover', 'attachInternals', 'elementFromPoints', 'BigInt', 'WeakRef', 'AggregateError', 'scheduler',
  'locks', 'serial',
];
const SELECTORS = [/:has\(/, /:is\(/, /:where\(/, /:user-(in)?valid/, /:modal/, /::part\(/];
const PROPERTIES = new Set([
  'inset', 'aspect-ratio', 'margin-inline', 'margin-block', 'padding-inline', 'padding-block', 'inset-inline', 'inset-block',
  'translate', 'rotate', 'scale', 'container-type', 'content-visibility', 'place-self-x',
]);
const VALUES = [/\bclamp\(/, /\d(dvh|svh|lvh|dvw|cqw|cqi|lh|rlh)\b/, /\bcolor-mix\(/, /\blight-dark\(/, /\bsubgrid\b/];
const AROUND = [/^@layer/, /^@container/, /^@scope/, /^@property/, /^@starting-style/, /^@media\s*\(\s*(width|height)\s*[<>]/, /^@media\s*\([^)]*[<>]=?/];

/** A script must be read by a reader of 2019, and use nothing that came later. */
export function checkScript(report, file, text) {
  report.looked('scripts');
  let tree;
  try {
    tree = parse(text, { ecmaVersion: 2019, sourceType: 'script', allowHashBang: false, locations: true });
  } catch (error) {
    report.fault(file, '-', 'script grammar', `line ${error.loc?.line}`, `${error.message}: not read by Safari 12.1`);
    return;
  }
  walk(tree, (node) => {
    const name = node.type === 'MemberExpression' && !node.computed ? node.property.name
      : node.type === 'NewExpression' || node.type === 'CallExpression' ? node.callee.name : null;
    if (METHODS.includes(name) && !guarded(text, node, name)) {
      report.fault(file, '-', 'script grammar', `line ${node.loc.start.line}`, `${name} is not in Safari 12.1`);
    }
    // Whole parts of a page come from the program, which has made what was typed harmless. Nothing may be put together here.
    if (node.type === 'AssignmentExpression' && ['innerHTML', 'outerHTML'].includes(node.left.property?.name) && !whole(node.right)) {
      report.fault(file, '-', 'script writes markup', `line ${node.loc.start.line}`, `${node.left.property.name}: what was typed could become markup`);
    }
    if (node.type === 'CallExpression' && ['insertAdjacentHTML', 'write'].includes(node.callee.property?.name) && !whole(node.arguments[1] ?? {})) {
      report.fault(file, '-', 'script writes markup', `line ${node.loc.start.line}`, node.callee.property.name);
    }
    if (node.type === 'CallExpression' && ['alert', 'confirm', 'prompt', 'eval'].includes(node.callee.name)) {
      report.fault(file, '-', 'script stops the page', `line ${node.loc.start.line}`, node.callee.name);
    }
  });
}

/** Nothing, or a part of an answer of the program as it came: `told.strip`, `html`. */
function whole(node) {
  if (node.type === 'ConditionalExpression') return whole(node.consequent) && whole(node.alternate);
  return (node.type === 'Literal' && node.value === '') || (node.type === 'Identifier' && node.name === 'html')
    || (node.type === 'MemberExpression' && node.object.name === 'told');
}

/** Used only where it is there: the same line, or the one before, asks for it. */
function guarded(text, node, name) {
  const lines = text.split('\n').slice(Math.max(0, node.loc.start.line - 3), node.loc.start.line).join('\n');
  return new RegExp(`typeof [\\w.]*${name}|['"]${name}['"] in|if \\([^)]*${name}\\b[^(]|[\\w.]+\\.${name} (&&|\\?)`).test(lines);
}

function walk(node, see) {
  if (!node || typeof node.type !== 'string') return;
  see(node);
  for (const value of Object.values(node)) {
    if (Array.isArray(value)) value.forEach((child) => walk(child, see));
    else if (value && typeof value === 'object') walk(value, see);
  }
}

/** A style sheet may hold nothing that makes an old browser drop a rule that matters. */
export function checkStyle(report, file, css) {
  report.looked('style sheets');
  for (const rule of rules(css)) {
    for (const head of rule.around.filter((h) => AROUND.some((late) => late.test(h)))) report.fault(file, '-', 'style grammar', head, 'too new');
    if (rule.around.some((head) => !head.startsWith('@'))) report.fault(file, '-', 'style grammar', rule.selector, 'a rule inside a rule');
    for (const late of SELECTORS) if (late.test(rule.selector)) report.fault(file, '-', 'style grammar', rule.selector, 'selector too new');
    if (/:focus-visible/.test(rule.selector) && /,/.test(rule.selector)) report.fault(file, '-', 'style grammar', rule.selector, 'an old browser drops the whole list for :focus-visible');
    for (const line of rule.body.split(';')) {
      const name = line.split(':')[0].trim();
      if (PROPERTIES.has(name)) report.fault(file, '-', 'style grammar', rule.selector, `${name} is not in Safari 12.1`);
      if (name === 'order' || (name === 'flex-direction' && /reverse/.test(line))) report.fault(file, '-', 'order on screen is not order of reading', rule.selector, line);
      for (const late of VALUES) if (late.test(line)) report.fault(file, '-', 'style grammar', rule.selector, `${line.trim()} is too new`);
    }
  }
}
