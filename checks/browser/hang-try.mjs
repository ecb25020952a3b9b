import { launch, Unanswered } from './browser.mjs';
const b = await launch(); const c = await b.newContext(); const p = await c.newPage();
await p.goto('about:blank');
console.log(await p.evaluate(() => 1+1), await p.locator('body').count());
try { await p.evaluate(() => { for(;;); }); } catch (e) { console.log(e instanceof Unanswered, e.message); }
const t=Date.now(); await b.close().catch(e=>console.log(e.message)); console.log('closed', Date.now()-t); process.exit(0)
