// Checks that need no browser: the files of the pages as they stand in the checkout.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { checkScript, checkStyle } from './grammar.mjs';
import { checkTokens } from './tokens.mjs';
import { checkSentences, checkTemplate } from './words.mjs';

/** All files under a folder that end so, by their path from `root`. */
export function files(root, folder, end) {
  const found = new Map();
  for (const entry of readdirSync(join(root, folder), { withFileTypes: true })) {
    const path = `${folder}/${entry.name}`;
    if (entry.isDirectory()) for (const [name, text] of files(root, path, end)) found.set(name, text);
    else if (entry.name.endsWith(end)) found.set(path, readFileSync(join(root, path), 'utf8'));
  }
  return found;
}

export function checkFiles(report, root) {
  const styles = files(root, 'crates/bench/static', '.css');
  checkTokens(report, styles);
  for (const [file, css] of styles) checkStyle(report, file, css);
  for (const [file, text] of files(root, 'crates/bench/static', '.js')) checkScript(report, file, text);
  for (const [file, html] of files(root, 'crates/bench/templates', '.html')) checkTemplate(report, file, html);
  for (const [file, code] of files(root, 'crates/bench/src', '.rs')) checkSentences(report, file, code);
}
