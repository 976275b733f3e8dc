// How long a maker waits in the live page: node time_live.mjs ADDRESS COUNT prints one JSON line of milliseconds for each change.
import { launch, SIZES } from "./browser.mjs";
const [, , address, count] = process.argv;
const browser = await launch(), page = await (await browser.newContext(SIZES.desktop)).newPage();
await page.goto(address);
const settled = (want) => page.waitForFunction((w) => document.getElementById("bench-state").textContent.includes(w), want, { timeout: 120_000 });
await settled("Done after");
const all = [];
await page.locator("#sieve").fill("joint.web_height");
for (let i = 0; i < Number(count); i++) {
  // Every change is another value, so that nothing is found as it was.
  await page.locator('[id="f-joint.web_height"]').fill((0.52 + 0.004 * i).toFixed(3));
  await page.waitForFunction(() => performance.getEntriesByName("settled").length > 0, undefined, { timeout: 120_000 });
  all.push(await page.evaluate(() => ({ seen: Object.fromEntries(performance.getEntriesByType("measure").map((m) => [m.name, Math.round(m.duration)])), told: document.getElementById("bench-state").textContent })));
}
console.log(JSON.stringify(all));
await browser.close();
