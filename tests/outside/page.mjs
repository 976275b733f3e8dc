// The page in Chromium, from disk: node page.mjs PAGE prints one JSON line {checks: [[name, ok, detail], ...]}.
import { pathToFileURL } from "url";
import { axe, check, finish, launch, SIZES } from "./browser.mjs";
const browser = await launch();
const page_url = pathToFileURL(process.argv[2]).href;
for (const [size, options] of Object.entries(SIZES)) {
  const context = await browser.newContext(options), page = await context.newPage();
  const said = [], asked = [];
  page.on("console", (m) => said.push(m.text()));
  page.on("pageerror", (e) => said.push(e.message));
  page.on("request", (r) => r.url() === page_url || asked.push(r.url()));
  await page.goto(page_url);
  const eye = () => page.locator("#view").getAttribute("data-eye");
  await page.waitForFunction(() => document.getElementById("view").dataset.eye);
  // The view moves for a third of a second, longer on a busy machine: done when what is drawn stays the same, and at
  // least one frame was drawn since.
  const settled = async () => {
    let last = "";
    for (let same = 0, i = 0; same < 4 && i < 150; i++) {
      await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
      await page.waitForTimeout(100);
      const now = (await eye()) + (await picture());
      same = now === last ? same + 1 : 0;
      last = now;
    }
  };
  const picture = () => page.locator("#view").evaluate((c) => c.toDataURL().length + c.toDataURL().slice(-4000));
  check(`${size}: nothing is wider than the screen`, await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
  const first = await eye(), shown = await picture();
  await page.getByRole("button", { name: "web.right.height" }).click();
  await settled();
  check(`${size}: a wall that is pressed moves the view`, (await eye()) !== first, await eye());
  check(`${size}: and is said`, (await page.locator("#said").textContent()).startsWith("web.right.height: 0.600 mm"));
  await page.getByRole("button", { name: "above" }).click();
  await settled();
  const above = (await eye()).split(" ").map(Number);
  check(`${size}: seen from above`, Math.hypot(above[0] - above[3], above[1] - above[4]) < 0.01 * (above[2] - above[5]), above);
  await page.locator("#swing").fill("10");
  await settled();
  const turned = await picture();
  await page.locator("#swing").fill("0");
  await settled();
  check(`${size}: the slider turns the next link`, (await picture()) !== turned && (await page.locator("#show-next").isChecked()));
  await page.locator("#cut").selectOption("y");
  await settled();
  check(`${size}: the cut changes the picture`, (await picture()) !== shown);
  await page.locator("#view").focus();
  const before = await eye();
  await page.keyboard.press("ArrowLeft");
  await settled();
  check(`${size}: arrow keys turn it`, (await eye()) !== before);
  await page.locator("#cut").selectOption("none");
  await page.locator("#rules button").first().click();
  check(`${size}: a rule that is pressed finds its values`, (await page.locator("#values .sought").count()) > 0);
  await page.locator("#walls button", { hasText: "sharp edge" }).first().click();
  await settled();
  check(`${size}: a sharp edge can be gone to`, (await page.locator("#said").textContent()).startsWith("edge of "));
  const level = await page.evaluate(() => [["collet.underside", "collet.rim"], ["bore.right.floor", "groove.right.roof"]].map(([a, b]) => Math.round(Bench.level(Bench.data.shape.mesh, a, b) * 1e6) / 1e6));
  check(`${size}: distances between named faces are those of the file`, level[0] === 2.75 && level[1] === 0.6, level);
  // The walls by colour: the picture changes, the scale is there, and its colours are on the part.
  await page.locator("#show-next").uncheck();
  await settled();
  const metal = await picture();
  await page.getByRole("button", { name: "corner" }).click();
  await page.getByLabel("walls by colour").check();
  await settled();
  const scale = page.locator("#scale");
  check(`${size}: the walls by colour have their scale`, (await picture()) !== metal && (await scale.isVisible()) && /0\.00.*nothing opposite/s.test(await scale.textContent()), await scale.textContent());
  const seen = await page.evaluate(() => {
    const c = Bench.$("view"), flat = document.createElement("canvas");
    [flat.width, flat.height] = [c.width, c.height];
    const pen = flat.getContext("2d");
    pen.drawImage(c, 0, 0);
    const all = pen.getImageData(0, 0, c.width, c.height).data, key = (r, g, b) => (r << 16) | (g << 8) | b, count = new Map();
    for (let i = 0; i < all.length; i += 4) if (all[i + 3] === 255) count.set(key(all[i], all[i + 1], all[i + 2]), (count.get(key(all[i], all[i + 1], all[i + 2])) ?? 0) + 1);
    // Which colours are on the line between two stops of the scale, or the grey of nothing opposite?
    const { stops } = Bench.data.map, near = (k) => {
      const [r, g, b] = [k >> 16, (k >> 8) & 255, k & 255];
      if (r === 232 && g === 236 && b === 240) return true;
      return stops.slice(1).some((t, i) => [0, 0.25, 0.5, 0.75, 1].some((s) => Math.hypot(...[r, g, b].map((v, j) => v - (stops[i][j] + (t[j] - stops[i][j]) * s))) < 4));
    };
    let on = 0, off = 0;
    for (const [k, n] of count) near(k) ? (on += n) : (off += n);
    return [on, off, count.size];
  });
  // Edges are drawn over it, and a pixel at an edge is a mixture.
  check(`${size}: and the part is in the colours of the scale`, seen[0] > 3 * seen[1] && seen[0] > 2000 && seen[2] > 30, seen);
  const grey = await page.evaluate(() => Bench.data.map.stops.map(([r, g, b]) => 0.2126 * r + 0.7152 * g + 0.0722 * b));
  check(`${size}: the scale rises in grey`, grey.every((v, i) => i === 0 || v > grey[i - 1]));
  if (process.env.SEEN) await page.locator("#stage").screenshot({ path: `${process.env.SEEN}/walls-${size}.png` });
  await page.getByLabel("walls by colour").uncheck();
  await page.getByLabel("clasp", { exact: true }).check();
  const parts = await page.locator("#clasp-parts input").count();
  const ofClasp = await page.evaluate(() => {
    const of = (n) => Bench.data.clasp.parts.find((p) => p.name === n).mesh, given = (path) => Bench.data.report.values.find((v) => v.path === path).value;
    return [[Bench.level(of("clasp.leaf"), "leaf.under", "leaf.top"), given("clasp.leaf.thickness")], [Bench.level(of("clasp.plate"), "plate.under", "plate.top"), given("clasp.plate.thickness")]];
  });
  check(`${size}: distances between faces of the clasp are those of the file`, ofClasp.every(([a, b]) => Math.abs(a - b) < 1e-6), ofClasp.join("; "));
  for (const box of await page.locator("#clasp-parts input").all()) await box.setChecked((await box.getAttribute("name")) === "clasp.leaf");
  await page.locator("#view").focus();
  await page.keyboard.press("+");
  await settled();
  const [shut, eyes] = [await picture(), await eye()];
  await page.locator("#open").fill("60");
  await settled();
  check(`${size}: the slider moves the leaf alone`, parts >= 8 && (await picture()) !== shut && (await eye()) === eyes, `${parts} parts`);
  await page.getByLabel("link and joint").check();
  check(`${size}: the plan has its chapters`, (await page.locator("#plan details").count()) > 6 && (await page.locator("#plan table").count()) > 4);
  check(`${size}: every wall has a row`, (await page.locator("#walls tr").count()) > 15 && (await page.locator("#sheet svg text").count()) > 60);
  await page.evaluate(axe);
  const found = (await page.evaluate(() => axe.run())).violations.filter((v) => ["serious", "critical"].includes(v.impact));
  check(`${size}: axe has no serious finding`, found.length === 0, found.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 120)}`).join("; "));
  check(`${size}: no request beyond the file`, asked.length === 0, asked.slice(0, 3));
  check(`${size}: no word in the console`, said.length === 0, said.slice(0, 3));
  if (process.env.SEEN) {
    await page.screenshot({ path: `${process.env.SEEN}/page-${size}.png`, fullPage: true });
    if (size === "desktop") await page.pdf({ path: `${process.env.SEEN}/page.pdf` });
  }
  await context.close();
}
await browser.close();
finish();
