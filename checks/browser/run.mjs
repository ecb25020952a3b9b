// The pages at the bench in a real browser. Started by `cargo xtask test`; by hand:
//
//     node checks/browser/run.mjs target/release/tenunder [part ...]
//
// Parts: files, bites, empty, keys, plain, losing, reading, glance, pages. Without one, all of them. Pictures go to target/screens.

import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { checkBites } from './bites.mjs';
import { Unanswered, launch, listen } from './browser.mjs';
import { Hands } from './hands.mjs';
import { look as otherEyes } from './eyes.mjs';
import { glance } from './glance.mjs';
import { gauges, lines, twoTabs } from './losing.mjs';
import { sendNonsense } from './nonsense.mjs';
import { survey } from './pages.mjs';
import { Plain } from './plain.mjs';
import { READING_PAGES, readingByHand } from './reading.mjs';
import { Report } from './report.mjs';
import { Server } from './server.mjs';
import { times } from './speed.mjs';
import { checkFiles } from './still.mjs';
import { wholeJob } from './walk.mjs';
import { weigh } from './weight.mjs';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
const [program, ...asked] = process.argv.slice(2);
if (!program) {
  console.error('node run.mjs PROGRAM [PART ...]');
  process.exit(2);
}
const screens = process.env.SCREENS ?? join(root, 'target/screens');
const only = process.env.ONLY ? new RegExp(process.env.ONLY, 'i') : null;
const report = new Report();

/** The jobs of the invented shop, and the pages that each has, whether links lead there or not. */
const INVENTED = Array.from({ length: 15 }, (_, nth) => 1001 + nth);
const PARTS_OF_A_JOB = ['measure', 'shaft', 'verdict', 'fit', 'grind', 'treatment', 'final', 'hand-over', 'particulars', 'history'];

const PARTS = {
  async files() {
    checkFiles(report, root);
  },
  async bites(browser) {
    await checkBites(report, browser, root);
  },
  async empty(browser) {
    const server = await Server.empty(resolve(program));
    try {
      await survey(report, browser, server, join(screens, 'empty-shop'));
      await weigh(report, browser, server.address, '/jobs');
    } finally {
      await server.stop();
    }
  },
  async keys(browser) {
    await walk(browser, 'keyboard, invented shop', { keyboard: true, invented: true, engine: /Tarn four/, customer: 'A. Miller', treat: true, overrule: false });
    await walk(browser, 'keyboard, typed in from scratch', { keyboard: true, invented: false, customer: 'A. Miller', treat: false, overrule: true });
  },
  async plain(browser) {
    await walk(browser, 'no script, invented shop', { keyboard: false, invented: true, engine: /Tarn four/, customer: 'A. Miller', treat: false, overrule: true });
    await walk(browser, 'no script, typed in from scratch', { keyboard: false, invented: false, customer: 'A. Miller', treat: false, overrule: false });
  },
  async losing(browser) {
    for (const test of [gauges, lines, twoTabs]) {
      const server = await Server.empty(resolve(program));
      try {
        await test(report, browser, server);
      } catch (error) {
        if (error instanceof Unanswered) throw error;
        report.fault(`measure, ${test.name}`, '-', 'broke off', 'the check', error.stack);
      } finally {
        await server.stop();
      }
    }
  },
  async reading(browser) {
    const server = await Server.invented(resolve(program));
    try {
      await readingByHand(report, browser, server, join(screens, 'reading'));
    } finally {
      await server.stop();
    }
  },
  async glance(browser) {
    const server = await Server.invented(resolve(program));
    try {
      await glance(report, browser, server);
      await otherEyes(report, browser, server, ['/jobs', '/jobs/1012/measure', '/jobs/1009/verdict', '/jobs/1008/grind', '/jobs/1003/measure'], join(screens, 'other-eyes'));
      await weigh(report, browser, server.address, '/jobs/1009/measure', { figures: true });
      for (const path of ['/jobs', '/jobs/1011/measure', '/jobs/1009/verdict']) await times(report, browser, server.address, path);
    } finally {
      await server.stop();
    }
  },
  async pages(browser) {
    const server = await Server.invented(resolve(program));
    try {
      const { kinds, forms } = await survey(report, browser, server, join(screens, 'invented-shop'), { only, also: [...READING_PAGES, ...INVENTED.flatMap((job) => PARTS_OF_A_JOB.map((part) => `/jobs/${job}/${part}`))] });
      for (const path of kinds.values()) if (!path.startsWith('/no-such') && !path.includes('9999')) await weigh(report, browser, server.address, path);
      await sendNonsense(report, browser, server, forms, join(screens, 'faults'));
    } finally {
      await server.stop();
    }
  },
};

/** A whole job in a window of its own. */
async function walk(browser, name, { keyboard, invented, ...job }) {
  const server = invented ? await Server.invented(resolve(program)) : await Server.empty(resolve(program));
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, javaScriptEnabled: keyboard });
  try {
    const pointed = keyboard ? await Hands.watch(context) : { times: 0 };
    const page = await context.newPage();
    listen(report, page, () => `${name}, ${page.url().replace(server.address, '')}`);
    const hand = keyboard ? new Hands(report, page, name) : new Plain(report, page, name);
    const found = await wholeJob(hand, report, server, job).catch(async (error) => {
      // The picture helps whoever mends it; that there is none must not hide what broke.
      await page.screenshot({ path: join(screens, `${name.replace(/\W+/g, '-')}-broke-off.png`), fullPage: true }).catch(() => {});
      throw error;
    });
    if (keyboard) {
      report.figure(`${name}: keys for a reading, on average`, Math.round((found.keys / (found.readings - 1)) * 100) / 100, 7);
      report.figure(`${name}: pointer actions`, pointed.times, 0);
      report.figure(`${name}: readings to the first verdict`, found.firstVerdict ?? 99, 4);
    }
    report.figure(`${name}: ${invented ? 'actions' : 'fields'} until the first box is ready`, found.actions, invented ? 8 : 20);
  } finally {
    await context.close().catch(() => {});
    await server.stop();
  }
}

const wanted = asked.length ? asked : Object.keys(PARTS);
mkdirSync(screens, { recursive: true });
if (!asked.length) rmSync(screens, { recursive: true, force: true });
mkdirSync(screens, { recursive: true });
/** Two lanes side by side: the long look at every page, and all the rest. */
const lanes = [wanted.filter((part) => part !== 'pages'), wanted.filter((part) => part === 'pages')];
await Promise.all(lanes.filter((lane) => lane.length).map(async (lane) => {
  let browser = lane.some((part) => part !== 'files') ? await launch() : null;
  for (const part of lane) {
    const began = Date.now();
    // A browser that stops answering gets one more try, as a new browser. A page that stops it will stop the new one too.
    for (const last of [false, true]) {
      try {
        if (!PARTS[part]) throw new Error(`no part ${part}: ${Object.keys(PARTS).join(', ')}`);
        await PARTS[part](browser);
        break;
      } catch (error) {
        if (!(error instanceof Unanswered) || last) {
          report.fault(part, '-', 'broke off', 'the check', error.stack);
          break;
        }
        console.log(`${part}: the browser does not answer, begun again with a new one: ${error.stack}`);
        await browser.close().catch(() => {});
        browser = await launch();
      }
    }
    console.log(`${part.padEnd(12)}${((Date.now() - began) / 1000).toFixed(1).padStart(8)} s`);
  }
  if (browser) await browser.close();
}));
const text = report.text();
writeFileSync(join(screens, 'report.txt'), `${text}\n`);
console.log(text);
process.exit(report.faults.length ? 1 : 0);
