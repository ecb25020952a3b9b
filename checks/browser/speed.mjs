// How long pages take on a slow computer. Told, not judged: times on a busy machine are no test.

const SLOWER = 6;

/** First paint, ready, longest task; the worst of so many loads. */
export async function times(report, browser, address, path, { loads = 3 } = {}) {
  const worst = { paint: 0, ready: 0, task: 0 };
  for (let load = 0; load < loads; load += 1) {
    const context = await browser.newContext();
    const page = await context.newPage();
    const session = await context.newCDPSession(page);
    await session.send('Emulation.setCPUThrottlingRate', { rate: SLOWER });
    await page.addInitScript(() => {
      window.tasks = [];
      new PerformanceObserver((list) => window.tasks.push(...list.getEntries().map((entry) => entry.duration))).observe({ entryTypes: ['longtask'] });
    });
    await page.goto(address + path, { waitUntil: 'load' });
    const told = await page.evaluate(() => ({
      paint: performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0,
      ready: performance.getEntriesByType('navigation')[0].loadEventEnd || performance.now(),
      task: Math.max(0, ...window.tasks),
    }));
    for (const key of Object.keys(worst)) worst[key] = Math.max(worst[key], told[key]);
    await context.close();
  }
  for (const [key, target] of [['paint', 1500], ['ready', 2500], ['task', 100]]) {
    report.figure(`${path}: ${{ paint: 'first paint', ready: 'ready', task: 'longest task' }[key]}, ${SLOWER} times slower (target ${target})`, Math.round(worst[key]), null, 'ms');
  }
  return worst;
}
