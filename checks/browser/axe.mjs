// axe on a page as it stands.

import { AXE } from './browser.mjs';

const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22a', 'wcag22aa', 'best-practice'];

/**
 * What axe cannot tell by itself, and why that is no fault here. Anything else it cannot tell is a fault.
 * Contrast is settled by the token list (tokens.mjs) and by the contrast of what was drawn (looks.mjs).
 */
const EXPLAINED = [
  // Letters in a drawing, or on hatching: the colours are tokens, and ink on every tint of the hatch is over 7.
  { rule: 'color-contrast', because: /svg|gradient|pseudo|overlap|short|image node|background image|partially obscured/i },
  // Marks such as the dots of a chance, which never stand without their words.
  { rule: 'color-contrast', because: /only non-text characters/ },
];

export async function axe(report, page, address, size) {
  if (!(await page.evaluate(() => typeof window.axe === 'object' && window.axe !== null))) await page.evaluate(AXE);
  const result = await page.evaluate(async (tags) => {
    const { violations, incomplete, passes } = await window.axe.run(document, {
      runOnly: tags, resultTypes: ['violations', 'incomplete'], elementRef: false,
      // A name that lacks the words on the button cannot be spoken to a machine that listens.
      rules: { 'label-content-name-mismatch': { enabled: true } },
    });
    const plain = (list) => list.flatMap(({ id, help, nodes }) => nodes.map((node) => ({
      rule: id, help, element: `${node.target.join(' ')} ${node.html}`,
      why: [...node.any, ...node.all, ...node.none].map((check) => check.message).join('; '),
    })));
    return { violations: plain(violations), incomplete: plain(incomplete), passes: passes.length };
  }, TAGS);
  report.looked('axe runs');
  for (const { rule, help, element, why } of result.violations) report.fault(address, size, `axe ${rule}`, element, `${help}: ${why}`);
  for (const { rule, element, why } of result.incomplete) {
    if (EXPLAINED.some((known) => known.rule === rule && known.because.test(`${why} ${element}`))) continue;
    report.fault(address, size, `axe cannot tell ${rule}`, element, why);
  }
  return result;
}
