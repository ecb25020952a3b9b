// What a page weighs, all told, before any packing: bytes, requests, and whose.

import { judged, rest } from './browser.mjs';

/** kB as people count them: a thousand bytes. */
const MOST = { document: 60_000, stylesheet: 24_000, script: 40_000, font: 48_000 };
const MOST_ALL = 160_000;
const MOST_REQUESTS = 8;

/** Loads a page with an empty cache, once what it shows is worked out: until then it asks for its figures again and again. */
export async function weigh(report, browser, address, path, { figures = false } = {}) {
  const first = await browser.newContext();
  const before = await first.newPage();
  await before.goto(address + path);
  await judged(before);
  await first.close();
  const context = await browser.newContext();
  const page = await context.newPage();
  const parts = { document: 0, stylesheet: 0, script: 0, font: 0 };
  let all = 0;
  let requests = 0;
  const reading = [];
  page.on('response', (response) => {
    const request = response.request();
    if (!request.url().startsWith(address)) report.fault(path, '-', 'outside host', request.url());
    if (response.status() >= 300 && response.status() < 400) return;
    requests += 1;
    reading.push(response.body().then((body) => {
      all += body.length;
      const kind = request.resourceType();
      parts[kind] = (parts[kind] ?? 0) + body.length;
    }));
  });
  await page.goto(address + path);
  await rest(page);
  await page.waitForLoadState('networkidle');
  await Promise.all(reading);
  report.looked('pages weighed');
  for (const [kind, most] of Object.entries(MOST)) {
    if (parts[kind] > most) report.fault(path, '-', 'weight', kind, `${parts[kind]} bytes, at most ${most}`);
  }
  if (all > MOST_ALL) report.fault(path, '-', 'weight', 'all told', `${all} bytes, at most ${MOST_ALL}`);
  if (requests > MOST_REQUESTS) report.fault(path, '-', 'requests', 'page', `${requests}, at most ${MOST_REQUESTS}`);
  if (parts.document === 0) report.fault(path, '-', 'weight', 'document', 'nothing came');
  if (figures) {
    for (const [kind, most] of Object.entries(MOST)) report.figure(`${path}: ${kind}`, parts[kind], most, 'bytes', path);
    report.figure(`${path}: all told`, all, MOST_ALL, 'bytes', path);
    report.figure(`${path}: requests`, requests, MOST_REQUESTS, '', path);
  }
  await context.close();
  return { ...parts, all, requests };
}
