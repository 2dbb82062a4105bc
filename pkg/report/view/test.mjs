// Opens a report in Debian's chromium and tries what a reader does.
// CUSPTRACE_REPORT is the folder with report.html and findings.json.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const folder = resolve(process.env.CUSPTRACE_REPORT);
const findings = JSON.parse(readFileSync(join(folder, "findings.json")));
const address = pathToFileURL(join(folder, "report.html")).href;
const shots = process.env.CUSPTRACE_SHOTS; // a folder for pictures, to be looked at

async function open(size, f) {
  const dir = mkdtempSync(join(tmpdir(), "cusptrace-browser-"));
  const browser = await chromium.launchPersistentContext(dir, {
    executablePath: process.env.CUSPTRACE_CHROMIUM || "/usr/bin/chromium",
    headless: true,
    viewport: size,
    args: ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
  });
  try {
    const page = await browser.newPage();
    const asked = [], said = [];
    page.on("request", (r) => asked.push(r.url()));
    page.on("pageerror", (e) => said.push(e.message));
    page.on("console", (m) => {
      // The driver of the software renderer remarks on its own speed.
      if ((m.type() === "error" || m.type() === "warning") && !/GL Driver Message/.test(m.text())) said.push(m.text());
    });
    await page.goto(address);
    await page.waitForFunction(() => window.cusptraceView, null, { timeout: 90000 });
    page.setDefaultTimeout(90000); // a busy machine with a software renderer is slow
    await f(page);
    assert.deepEqual(asked.filter((u) => u !== address && !u.startsWith(address + "#") && !u.startsWith("data:") && !u.startsWith("blob:")), []);
    assert.deepEqual(said, []);
  } finally {
    await browser.close();
    rmSync(dir, { recursive: true, force: true });
  }
}

const multiply = (a, b) => Array.from({ length: 16 }, (_, i) => [0, 1, 2, 3].reduce((s, k) => s + a[4 * (i >> 2) + k] * b[4 * k + (i & 3)], 0));

function near(got, want, tolerance) {
  got.forEach((v, i) => assert.ok(Math.abs(v - want[i]) <= tolerance, `entry ${i}: ${v}, not ${want[i]}`));
}

test("the slider moves the lower arch to the pose of the findings", () =>
  open({ width: 1280, height: 900 }, async (page) => {
    for (const x of findings.excursions) {
      await page.click(`#movements button:text-is("${x.movement[0].toUpperCase() + x.movement.slice(1)}")`);
      for (const i of [0, Math.floor(x.frames.length / 2), x.frames.length - 1]) {
        await page.fill("#travel", String(i));
        const got = await page.evaluate(() => window.cusptraceView.lowerMatrix);
        near(got, multiply(x.frames[i].pose, findings.settling.pose), 1e-9);
      }
    }
    if (shots) await page.locator("#view").screenshot({ path: join(shots, "view.png") });
  }));

test("a link lands at its movement and travel", () =>
  open({ width: 1280, height: 900 }, async (page) => {
    const links = page.locator("section.movement a.go");
    assert.ok((await links.count()) > 0);
    const link = links.last();
    const [, movement, travel] = /^#at=(\w+):([\d.]+)/.exec(decodeURIComponent(await link.getAttribute("href")));
    await link.click();
    await page.waitForFunction(() => window.cusptraceView.movement); // the address changes a moment later
    const got = await page.evaluate(() => ({ movement: window.cusptraceView.movement.movement, travel: window.cusptraceView.frame.travel }));
    assert.equal(got.movement, movement);
    const x = findings.excursions.find((e) => e.movement === movement);
    const best = Math.min(...x.frames.map((f) => Math.abs(f.travel_mm - +travel)));
    assert.equal(Math.abs(got.travel - +travel), best);
  }));

test("keys go along the movement and turn the casts", () =>
  open({ width: 1280, height: 900 }, async (page) => {
    await page.click("#movements button >> nth=1");
    await page.focus("#canvas");
    await page.keyboard.press("PageDown");
    await page.keyboard.press("PageDown");
    assert.equal(await page.evaluate(() => window.cusptraceView.index), 2);
    const before = await page.evaluate(() => window.cusptraceView.scene.camera.position.toArray());
    await page.keyboard.press("ArrowLeft");
    const after = await page.evaluate(() => window.cusptraceView.scene.camera.position.toArray());
    assert.notDeepEqual(after, before);
    await page.keyboard.press("4");
    assert.equal(await page.inputValue("#lower"), "hide");
  }));

test("a tooth can be picked and its gap is that of the map", () =>
  open({ width: 1280, height: 900 }, async (page) => {
    await page.click('#views button:text-is("Upper occlusal")');
    const spot = await page.evaluate(() => {
      document.getElementById("stage").scrollIntoView({ block: "center", behavior: "instant" });
      const v = window.cusptraceView;
      v.scene.now(); // the camera is where it should be once it has drawn
      const cast = v.scene.upper;
      // A vertex with a small gap, seen from below: under it lies nothing else.
      let i = 0;
      cast.gap.forEach((g, k) => { if (g < cast.gap[i] && cast.data.teeth[k]) i = k; });
      const p = v.scene.controls.target.clone().fromBufferAttribute(cast.mesh.geometry.attributes.position, i).project(v.scene.camera);
      const r = v.scene.renderer.domElement.getBoundingClientRect();
      return { x: r.left + ((p.x + 1) / 2) * r.width, y: r.top + ((1 - p.y) / 2) * r.height, tooth: cast.data.teeth[i], gap: cast.gap[i] };
    });
    await page.mouse.move(spot.x, spot.y);
    await page.waitForSelector("#tip:not([hidden])");
    const tip = await page.textContent("#tip");
    assert.match(tip, new RegExp(`^${spot.tooth} `));
    const [, um] = /here (-?\d+) µm/.exec(tip);
    assert.ok(Math.abs(+um - spot.gap) < 150, `${um} µm near a vertex with ${spot.gap} µm`);
  }));

test("the legend matches the colours on the casts", () =>
  open({ width: 1280, height: 900 }, async (page) => {
    const r = await page.evaluate(() => {
      const v = window.cusptraceView, cast = v.scene.upper, limit = 1000;
      const stops = getComputedStyle(document.querySelector("#legend .bar")).backgroundImage.match(/rgb\([^)]*\)/g).map((s) => s.match(/\d+/g).map(Number));
      const back = (u) => { const c = u / 65535; return 255 * (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055); };
      let worst = 0, seen = 0;
      cast.gap.forEach((g, i) => {
        if (g < 0 || g > limit) return;
        const s = (g / limit) * (stops.length - 1), k = Math.min(stops.length - 2, Math.floor(s));
        for (let j = 0; j < 3; j++) worst = Math.max(worst, Math.abs(stops[k][j] + (s - k) * (stops[k + 1][j] - stops[k][j]) - back(cast.colours[3 * i + j])));
        seen++;
      });
      return { worst, seen, to: document.getElementById("legend-to").textContent };
    });
    assert.equal(r.to, "1000 µm");
    assert.ok(r.seen > 20 && r.worst < 1.5, JSON.stringify(r));
  }));

test("it prints, and fits a phone", () =>
  open({ width: 360, height: 740 }, async (page) => {
    assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= 360);
    for (const format of ["A4", "Letter"]) {
      const pdf = await page.pdf({ format });
      const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g).length;
      assert.ok(pages > 1 && pages < 40, `${pages} pages`);
      if (shots) writeFileSync(join(shots, `${format}.pdf`), pdf);
    }
    if (shots) await page.screenshot({ path: join(shots, "phone.png"), fullPage: true });
  }));

test("it draws, even with a software renderer", () =>
  open({ width: 1280, height: 900 }, async (page) => {
    const ms = await page.evaluate(() => {
      const v = window.cusptraceView, gl = v.scene.renderer.getContext();
      const start = performance.now();
      for (let i = 0; i < 10; i++) {
        v.scene.now();
        gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4)); // waits for the picture
      }
      return (performance.now() - start) / 10;
    });
    console.log(`a picture takes ${ms.toFixed(1)} ms here`);
    assert.ok(ms < 5000);
  }));
