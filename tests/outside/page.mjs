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
  const level = await page.evaluate(() => {
    const { names } = Bench.data.shape.mesh, at = (n) => names.indexOf(n), of = (a, b) => Bench.data.apart.find(([i, j]) => (i === at(a) && j === at(b)) || (i === at(b) && j === at(a)));
    return [of("collet.underside", "collet.rim")?.[2], of("bore.right.floor", "groove.right.roof")?.[2]];
  });
  check(`${size}: distances between named faces are those of the file`, level[0] === 2.75 && level[1] === 0.6, level);
  await page.getByLabel("clasp", { exact: true }).check();
  const parts = await page.locator("#clasp-parts input").count();
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
