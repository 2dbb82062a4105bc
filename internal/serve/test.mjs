// Goes the whole way in Debian's chromium: wrong files are refused, two scans are given, teeth are corrected, missed, drawn, a mounting
// point is dragged, a tooth entered on the chart, the case saved in a folder and opened from it, the casts are examined while the page is
// loaded again, the report is read in its frame, pairs of loose arches are clicked, the program ended. CUSPTRACE_LINK is the link of the server, CUSPTRACE_SCANS a folder with upper.stl and lower.stl.
import assert from "node:assert/strict";
import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
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
// What is seen in passing: the casts while their teeth are being found, with how many codes.
await context.addInitScript(() => {
  if (self !== top) return;
  setInterval(() => {
    const moving = document.getElementById("moving");
    if (moving && !moving.hidden) sessionStorage.found = Math.max(sessionStorage.found || 0, document.querySelectorAll("#codes span").length);
  }, 20);
});
const page = await context.newPage();
page.setDefaultTimeout(shots ? 60000 : 150000); // a busy machine with a software renderer is slow
const asked = [], said = [];
context.on("request", (r) => asked.push(r.url()));
page.on("pageerror", (e) => said.push(e.message));
page.on("console", (m) => {
  if (m.type() === "error" && !/GL Driver/.test(m.text())) said.push(m.text());
});
// until waits for what is true in the page. The library's own waiting needs eval, which the policy of
// the page forbids.
async function until(what) {
  for (let i = 0; i < (shots ? 120 : 600); i++) {
    const there = await page.evaluate(what).catch(() => false); // the page may just be going
    if (there) return;
    await page.waitForTimeout(250);
  }
  throw new Error(`in vain waited until ${what}`);
}
let clicks = 0;
const click = (what) => (clicks++, page.click(what));
const stage = (name) => page.waitForSelector(`body[data-stage="${name}"]`);
const begun = Date.now();
const look = async (name) => shots && (console.error(name, ((Date.now() - begun) / 1000).toFixed(1)), 1) && (await page.screenshot({ path: join(shots, name + ".png"), fullPage: true }));
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

// stl changes the points of a binary STL.
function stl(from, to, change) {
  const data = Buffer.from(readFileSync(join(scans, from)));
  for (let t = 84; t < data.length; t += 50)
    for (let k = 12; k < 48; k += 12) {
      const p = change([0, 4, 8].map((i) => data.readFloatLE(t + k + i)));
      p.forEach((v, i) => data.writeFloatLE(v, t + k + 4 * i));
    }
  writeFileSync(join(scans, to), data);
  return join(scans, to);
}

try {
  await page.goto(link);
  await stage("scans");
  assert.equal(page.url(), origin + "/", "the secret leaves the address");
  assert.equal(await page.evaluate(() => document.cookie), "", "no script reads the cookie");
  await look("scans");
  await accessible("scans");

  // What is no pair of scans is refused, with its name; scans in metres are asked for their unit.
  const photo = join(scans, "photo.jpg"), packed = join(scans, "scan.zip");
  writeFileSync(photo, Buffer.concat([Buffer.from([0xff, 0xd8, 0xff, 0xe0]), Buffer.alloc(5000, 7)]));
  writeFileSync(packed, Buffer.concat([Buffer.from("PK\x03\x04"), readFileSync(join(scans, "upper.stl"))]));
  for (const wrong of [[photo, join(scans, "lower.stl")], [packed]]) {
    await page.setInputFiles("#files", wrong);
    await page.waitForSelector(`#problem:has-text("${wrong[0].split("/").pop()}")`);
    await stage("scans");
  }
  await accessible("refused");
  await look("refused");
  const metres = ["upper", "lower"].map((jaw) => stl(`${jaw}.stl`, `${jaw}-m.stl`, (p) => p.map((v) => v / 1000)));
  await page.setInputFiles("#files", metres);
  await stage("unit");
  assert.equal(await page.locator("input[name=unit]:checked").inputValue(), "m");
  await accessible("unit");
  await look("unit");
  await page.click('button[value="new"]');
  await stage("scans");

  // The lower one first: which is which is told by the shape. Choosing counts as two clicks.
  clicks += 2;
  await page.setInputFiles("#files", [join(scans, "lower.stl"), join(scans, "upper.stl")]);
  await stage("case");
  assert.ok((await page.evaluate(() => sessionStorage.found)) !== undefined, "the casts are shown while their teeth are being found");
  const heads = await page.locator(".scans h3").allTextContents();
  assert.deepEqual(heads, ["Upper arch: upper.stl", "Lower arch: lower.stl"]);
  assert.equal(await page.locator(".chart button:enabled").count(), 28);
  // The teeth in 3D: one is clicked and renumbered, another looked up by the keyboard, and both taken
  // back or left. This is no part of the shortest way to a report.
  await until(() => window.cusptraceCasts);
  const spot = async (code) => {
    await until(`[...document.querySelectorAll("#codes span")].some((x) => x.textContent === "${code}" && !x.hidden)`);
    return page.evaluate((code) => {
      const box = [...document.querySelectorAll("#codes span")].find((x) => x.textContent === code).getBoundingClientRect();
      const stage = document.getElementById("stage").getBoundingClientRect();
      return [box.x + box.width / 2 - stage.x, box.y + box.height / 2 - stage.y];
    }, code);
  };
  // press clicks a spot of the 3D view.
  const press = async ([x, y]) => {
    await page.evaluate(() => document.getElementById("stage").scrollIntoView());
    const box = await page.locator("#stage").boundingBox();
    await page.mouse.click(box.x + x, box.y + y);
  };
  // pick opens the panel of a tooth; where the casts are just being brought up to date, it is clicked again.
  const pick = async (code) => {
    for (let i = 0; ; i++) {
      const at = await spot(code);
      await press(at);
      const there = page.waitForSelector("#picked:not([hidden]) [data-tooth]:not([hidden])", { timeout: 4000 });
      if (await there.then(() => true, () => false)) return at;
      assert.ok(i < 5, `${code} cannot be picked`);
    }
  };
  await pick("27");
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
  // A tooth that was missed is added by drawing its border where it stands; both corrections stay.
  const corrected = (what) =>
    until(`[...document.querySelectorAll("button[value=undo] + span")].some((x) => x.textContent.includes("${what}")) && !document.body.dataset.busy`);
  const at = await pick("27");
  await page.click('#picked button[data-does="none"]:visible');
  await corrected("0=");
  await until(() => [...document.querySelectorAll("#codes span")].every((x) => x.textContent !== "27"));
  await press(at);
  await until(() => Boolean(document.querySelector("#picked [data-spot]:not([hidden])")));
  assert.equal(await page.locator("#picked-number").inputValue(), "27", "the number that fits is offered");
  await page.click('#picked button[data-does="draw"]:visible');
  for (const [x, y] of [[13, 0], [6, -11], [-6, -11], [-13, 0], [-6, 11], [0, 0]]) await press([at[0] + x, at[1] + y]);
  assert.equal(await page.evaluate(() => window.cusptraceCasts.drawing.points.length), 6);
  await page.keyboard.press("Backspace");
  await press([at[0] + 6, at[1] + 11]);
  await look("drawing");
  await accessible("drawing");
  await page.click('#drawing button[data-does="around"]');
  await corrected("27=border/");
  await until(() => [...document.querySelectorAll("#codes span")].some((x) => x.textContent === "27"));
  await look("drawn");

  // The incisal point is dragged.
  await page.focus("#canvas");
  await page.keyboard.press("6"); // the lower arch alone
  const ball = () => page.evaluate(() => {
    const casts = window.cusptraceCasts, m = casts.markers.find((x) => x.userData.field.name === "at-incisal");
    casts.scene.camera.updateMatrixWorld();
    m.updateWorldMatrix(true, false);
    const r = casts.canvas.getBoundingClientRect(), p = m.getWorldPosition(m.position.clone()).project(casts.scene.camera);
    return [r.left + ((p.x + 1) / 2) * r.width, r.top + ((1 - p.y) / 2) * r.height];
  });
  await page.evaluate(() => document.getElementById("stage").scrollIntoView());
  const [x, y] = await ball(), before = await page.inputValue("#at-incisal");
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 6, y + 14, { steps: 3 });
  await page.mouse.up();
  await until(() => !document.body.dataset.busy);
  assert.notEqual(await page.inputValue("#at-incisal"), before, "the point was dragged");
  assert.ok(Math.hypot((await ball())[0] - x - 6, (await ball())[1] - y - 14) < 12, "and lies where it was let go");

  // Saved in a folder, with the browser's private files in the place of those of the disk, and opened from one.
  await page.evaluate(() => (window.showDirectoryPicker = () => navigator.storage.getDirectory()));
  await page.click("button[data-save]");
  await until(() => /new folder case/.test(document.getElementById("doing").textContent));
  const kept = await page.evaluate(async () => {
    const root = await (await navigator.storage.getDirectory()).getDirectoryHandle("case"), out = {};
    for await (const [name, file] of root.entries()) out[name] = Array.from(new Uint8Array(await (await file.getFile()).arrayBuffer()));
    return out;
  });
  const folder = join(scans, "visit");
  mkdirSync(folder);
  for (const [name, bytes] of Object.entries(kept)) writeFileSync(join(folder, name), Buffer.from(bytes));
  assert.match(readFileSync(join(folder, "case.yaml"), "utf8"), /incisal_point/);
  assert.ok(readFileSync(join(folder, "upper.stl")).equals(readFileSync(join(scans, "upper.stl"))), "the scan is kept as it came");
  await page.click('button[value="new"]');
  await stage("scans");
  await page.setInputFiles("#folder", folder);
  await stage("case");
  assert.match(await page.inputValue("#at-incisal"), /\d/);
  await until(() => window.cusptraceCasts);
  await page.focus("#canvas");
  await page.keyboard.press("6");
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

  // Wax of one's own choice is one more step to choose.
  await page.click("#wax summary");
  await page.selectOption("#wax-tooth", "13");
  await page.click('button[value="wax"]');
  await page.waitForSelector('.offers input:checked');
  await page.click("#table summary");
  await look("trial");
  await accessible("trial");

  await page.goBack();
  await stage("report"); // what the server holds, not what the browser remembers
  await page.setViewportSize({ width: 360, height: 740 });
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "no scrolling sideways on a phone");
  await look("phone");

  // Loose arches: a pair of points at which they meet is clicked, first on the upper one, then on the lower one.
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.click('button[value="new"]');
  await stage("scans");
  const loose = join(scans, "loose");
  mkdirSync(loose);
  for (const name of ["upper.stl", "upper.labels.json", "lower.labels.json"]) copyFileSync(join(scans, name), join(loose, name));
  stl("lower.stl", "loose/lower.stl", ([x, y, z]) => [y + 40, -x - 60, z + 25]);
  const arch = (jaw) => `${jaw}: {scan: ${jaw}.stl, labels: ${jaw}.labels.json}\n`;
  writeFileSync(join(loose, "case.yaml"), arch("upper") + arch("lower") + "units: mm\n");
  await page.setInputFiles("#folder", loose);
  await stage("case");
  await until(() => window.cusptraceCasts);
  await page.waitForSelector("#together[open]");
  await page.click('button[data-place="pair-upper-1"]');
  await press(await spot("26"));
  await until(() => document.getElementById("placing").textContent.includes("lower") && !document.getElementById("placing").hidden);
  await press(await spot("36"));
  await until(() => !document.body.dataset.busy && Boolean(document.getElementById("pair-lower-1")?.value));
  await look("loose");
  await accessible("loose");
  await page.click('button[value="together"]');
  await until(() => Boolean(document.querySelector('button[value="apart"]')) && !document.body.dataset.busy);

  assert.deepEqual(said, []);
  await page.click('footer button');
  await page.waitForSelector("text=has ended");
  for (const url of asked) assert.ok(url.startsWith(origin) || /^(data|blob):/.test(url), "asked " + url);
  console.log(`${clicks} clicks to the report`);
} finally {
  await browser.close();
}
