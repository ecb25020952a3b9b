// The words: calm, exact, and none of those that blame, beg or shout.

const BANNED = [
  [/\binvalid\b/i, 'invalid'], [/\berror occurred\b/i, 'error occurred'], [/\bplease\b/i, 'please'], [/\bsorry\b/i, 'sorry'],
  [/\boops\b/i, 'oops'], [/\billegal\b/i, 'illegal'], [/\bforbidden\b/i, 'forbidden'], [/\bsubmit/i, 'submit'],
  [/\bN\/A\b/i, 'N/A'], [/^\s*(OK|Cancel)\s*$/i, 'OK or Cancel'], [/(?<![\d.,/\w-])\.\d/, 'a figure with a bare leading point'],
  [/\d\s*%|%\s*(chance|likely)|\bper ?cent\b/i, 'a chance is told in 100s'], [/!(\s|$)/, 'an exclamation mark'],
];
/** Words that are written in capitals everywhere. */
const CAPITALS = new Set(['EXAMPLE', 'MAINS', 'RODS', 'HTML', 'JSON', 'TOML', 'HTTP', 'JPEG', 'POST', 'UTF-8', 'ISO']);

/** What is wrong with a text that people read, as pairs of rule and word. */
export function faultsOf(text) {
  const found = [];
  for (const [pattern, name] of BANNED) {
    const hit = text.match(pattern);
    if (hit) found.push([name, around(text, hit.index)]);
  }
  for (const [word] of text.matchAll(/(?<![\w.-])[A-Z]{4,}(?![\w-])/g)) {
    if (!CAPITALS.has(word)) found.push(['all capitals', word]);
  }
  return found;
}

function around(text, at) {
  return text.slice(Math.max(0, at - 30), at + 40);
}

/** A template: the words between its tags, and the tags themselves. */
export function checkTemplate(report, file, html) {
  report.looked('templates');
  const bare = html.replace(/\{#[\s\S]*?#\}/g, '').replace(/\{\{[\s\S]*?\}\}/g, 'x').replace(/\{%[\s\S]*?%\}/g, '');
  const tags = bare.match(/<[a-z][^>]*>/gi) ?? [];
  for (const tag of tags) {
    if (/\stitle\s*=/i.test(tag)) report.fault(file, '-', 'tooltip', tag, 'title= is seen by nobody who has no mouse');
    if (/\splaceholder\s*=/i.test(tag)) report.fault(file, '-', 'placeholder', tag, 'it goes when somebody types: use a label and a hint');
    if (/\sstyle\s*=/i.test(tag) || /^<style/i.test(tag)) report.fault(file, '-', 'style in the page', tag, 'the content policy drops it');
    if (/\son[a-z]+\s*=/i.test(tag)) report.fault(file, '-', 'script in the page', tag, 'the content policy drops it');
    if (/^<script(?![^>]*\ssrc=)/i.test(tag)) report.fault(file, '-', 'script in the page', tag, 'the content policy drops it');
    if (/^<input/i.test(tag) && /type\s*=\s*"?number/i.test(tag)) report.fault(file, '-', 'type=number', tag, 'a wheel changes it: use inputmode');
    if (/\sautocomplete="on"/i.test(tag)) report.fault(file, '-', 'autocomplete', tag);
    if (/tabindex\s*=\s*"?[1-9]/i.test(tag)) report.fault(file, '-', 'tabindex over 0', tag);
    for (const [, , value] of tag.matchAll(/\s(aria-label|value|alt)="([^"]*)"/g)) {
      for (const [rule, word] of faultsOf(value)) report.fault(file, '-', `word: ${rule}`, word);
    }
    if (/(https?:)?\/\/[a-z]/i.test(tag) && !/xmlns/.test(tag)) report.fault(file, '-', 'outside address', tag);
    if (/^<th(?=[\s>])(?![^>]*\sscope=)/i.test(tag)) report.fault(file, '-', 'th without scope', tag);
  }
  for (const text of bare.replace(/<script[\s\S]*?<\/script>/gi, '').split(/<[^>]*>/)) {
    for (const [rule, word] of faultsOf(text)) report.fault(file, '-', `word: ${rule}`, word);
  }
}

/** Sentences in the code of the pages: text between quotation marks, tests left out. */
export function checkSentences(report, file, code) {
  const product = code.split(/\n#\[cfg\(test\)\]/)[0].replace(/^\s*\/\/.*$/gm, '').replace(/\s\/\/ .*$/gm, '');
  for (const [, text] of product.matchAll(/"((?:[^"\\]|\\[\s\S])*)"/g)) {
    // A sentence has a blank in it; a key or an address has none.
    if (!/[a-z] [a-z]/i.test(text)) continue;
    report.looked('sentences in the code');
    for (const [rule, word] of faultsOf(text.replace(/\{[^}]*\}/g, 'x'))) report.fault(file, '-', `word: ${rule}`, word);
  }
}
