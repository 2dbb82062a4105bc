// Goes the whole way in Debian's chromium: two scans are given, a tooth is entered on the chart, the
// casts are examined while the page is loaded again, the report is read in its frame, the program
// ended. CUSPTRACE_LINK is the link of the server, CUSPTRACE_SCANS a folder with upper.stl and lower.stl.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const require = createRequire(new URL("../../pkg/report/internal/view/package.json", import.meta.url));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const link = process.env.CUSPTRACE_LINK, scans = process.env.CUSPTRACE_SCANS, shots = process.env.CUSPTRACE_SHOTS;
const origin = new URL(link).origin;

const browser = await chromium.launch({
  executablePath: process.env.CUSPTRACE_CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
});
const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, reducedMotion: "reduce", bypassCSP: false });
const page = await context.newPage();
page.setDefaultTimeout(150000); // a busy machine with a software renderer is slow
const asked = [], said = [];
context.on("request", (r) => asked.push(r.url()));
page.on("pageerror", (e) => said.push(e.message));
page.on("console", (m) => {
  if (m.type() === "error" && !/GL Driver/.test(m.text())) said.push(m.text());
});
// until waits for what is true in the page. The library's own waiting needs eval, which the policy of
// the page forbids.
async function until(what) {
  for (let i = 0; i < 600; i++) {
    const there = await page.evaluate(what).catch(() => false); // the page may just be going
    if (there) return;
    await page.waitForTimeout(250);
  }
  throw new Error(`in vain waited until ${what}`);
}
let clicks = 0;
const click = (what) => (clicks++, page.click(what));
const stage = (name) => page.waitForSelector(`body[data-stage="${name}"]`);
const look = async (name) => shots && (await page.screenshot({ path: join(shots, name + ".png"), fullPage: true }));
async function accessible(name) {
  // The policy of the page lets no script in; axe comes by the protocol of the debugger.
  const session = await context.newCDPSession(page);
  await session.send("Runtime.evaluate", { expression: axe });
  const { result } = await session.send("Runtime.evaluate", {
    expression: `axe.run(document, { iframes: false }).then((r) => JSON.stringify(r.violations.map((v) => v.id + ": " + v.nodes[0].html)))`,
    awaitPromise: true,
    returnByValue: true,
  });
  assert.equal(result.value, "[]", name);
}

try {
  await page.goto(link);
  await stage("scans");
  assert.equal(page.url(), origin + "/", "the secret leaves the address");
  assert.equal(await page.evaluate(() => document.cookie), "", "no script reads the cookie");
  await look("scans");
  await accessible("scans");

  // The lower one first: which is which is told by the shape. Choosing counts as two clicks.
  clicks += 2;
  await page.setInputFiles("#files", [join(scans, "lower.stl"), join(scans, "upper.stl")]);
  await stage("case");
  const heads = await page.locator(".scans h3").allTextContents();
  assert.deepEqual(heads, ["Upper arch: upper.stl", "Lower arch: lower.stl"]);
  assert.equal(await page.locator(".chart button:enabled").count(), 28);
  // The teeth in 3D: one is clicked and renumbered, another looked up by the keyboard, and both taken
  // back or left. This is no part of the shortest way to a report.
  await until(() => window.cusptraceCasts);
  const spot = async (code) => {
    await until(`[...document.querySelectorAll("#codes span")].some((x) => x.textContent === "${code}" && !x.hidden)`);
    const box = await page.locator(`#codes span:text-is("${code}")`).boundingBox();
    return [box.x + box.width / 2, box.y + box.height / 2];
  };
  await page.locator("#stage").scrollIntoViewIfNeeded();
  await page.mouse.click(...(await spot("27")));
  await until(() => /^Tooth 27/.test(document.getElementById("picked-name").textContent));
  await look("case");
  await accessible("case");
  await page.selectOption("#picked-number", "28");
  await page.click('#picked button[data-does="number"]:visible');
  await until(() => document.querySelector('button[value="undo"]') && !document.body.dataset.busy);
  await until(() => [...document.querySelectorAll("#codes span")].some((x) => x.textContent === "28"));
  await page.click('button[value="undo"]');
  await until(() => !document.querySelector('button[value="undo"]') && !document.body.dataset.busy);
  await until(() => [...document.querySelectorAll("#codes span")].every((x) => x.textContent !== "28"));
  await page.focus("#canvas");
  await page.keyboard.press("6"); // the lower arch alone
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("Escape");

  await click('.chart button:has-text("26")');
  await page.waitForSelector('.chart button[aria-label*="holds"]');
  await until(() => document.activeElement.textContent === "26●"); // the keyboard stays at the tooth

  await click("button.main");
  await stage("working");
  await page.reload(); // nothing is lost, nothing twice
  const other = await context.newPage();
  await other.goto(origin + "/");
  await until(() => document.body.dataset.stage === "report" || document.getElementById("bar")?.value > 0);
  await look("working");
  await stage("report");
  await other.waitForSelector('body[data-stage="report"]');
  await other.close();
  assert.ok(clicks <= 8, `${clicks} clicks`);

  const frame = await (await page.waitForSelector("#report")).contentFrame();
  await frame.waitForSelector("#answer");
  await frame.waitForFunction(() => window.cusptraceView);
  assert.equal(await frame.evaluate(() => self.origin), "null", "the report is in a sandbox");
  const got = await frame.evaluate((o) => fetch(o + "/case.zip").then(() => "read", () => "refused"), origin);
  assert.equal(got, "refused", "the report reads nothing of the server");
  said.length = 0; // that it was refused
  await look("report");
  await accessible("report");

  await page.goBack();
  await stage("report"); // what the server holds, not what the browser remembers
  await page.setViewportSize({ width: 360, height: 740 });
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "no scrolling sideways on a phone");
  await look("phone");

  assert.deepEqual(said, []);
  await page.click('footer button');
  await page.waitForSelector("text=has ended");
  for (const url of asked) assert.ok(url.startsWith(origin) || /^(data|blob):/.test(url), "asked " + url);
  console.log(`${clicks} clicks to the report`);
} finally {
  await browser.close();
}
