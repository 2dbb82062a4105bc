// Opens a report in Debian's chromium and tries what a reader does.
// CUSPTRACE_REPORT is the folder with report.html and findings.json.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const folder = resolve(process.env.CUSPTRACE_REPORT);
const findings = JSON.parse(readFileSync(join(folder, "findings.json")));
const address = pathToFileURL(join(folder, "report.html")).href;
const shots = process.env.CUSPTRACE_SHOTS; // a folder for pictures, to be looked at
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

let browser, desk, phone;
const asked = [], said = [];

async function open(options) {
  const page = await (await browser.newContext({ ...options, reducedMotion: "reduce", deviceScaleFactor: 0.5 })).newPage();
  page.setDefaultTimeout(90000); // a busy machine with a software renderer is slow
  page.on("request", (r) => asked.push(r.url()));
  page.on("dialog", (d) => said.push("dialog " + d.message()));
  page.on("pageerror", (e) => said.push(e.message));
  page.on("console", (m) => {
    // The driver of the software renderer remarks on its own speed.
    if ((m.type() === "error" || m.type() === "warning") && !/GL Driver Message/.test(m.text())) said.push(m.text());
  });
  await page.goto(address);
  await page.waitForFunction(() => window.cusptraceView);
  return page;
}

before(async () => {
  browser = await chromium.launch({
    executablePath: process.env.CUSPTRACE_CHROMIUM || "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
  });
  desk = await open({ viewport: { width: 1280, height: 800 } });
  phone = await open({ viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true });
});

after(() => browser?.close());

const multiply = (a, b) => Array.from({ length: 16 }, (_, i) => [0, 1, 2, 3].reduce((s, k) => s + a[4 * (i >> 2) + k] * b[4 * k + (i & 3)], 0));

function near(got, want, tolerance) {
  assert.equal(got.length, want.length);
  got.forEach((v, i) => assert.ok(Math.abs(v - want[i]) <= tolerance, `entry ${i}: ${v}, not ${want[i]}`));
}

const choose = (page, x) => page.click(`#movements button:text-is("${x ? { right: "Right lateral", left: "Left lateral", protrusive: "Protrusion" }[x.movement] : "Closed"}")`);
const lowerMatrix = (page) => page.evaluate(() => window.cusptraceView.lowerMatrix);
const camera = (page) =>
  page.evaluate(() => {
    const { camera, controls } = window.cusptraceView.scene;
    return { at: camera.position.toArray(), target: controls.target.toArray(), away: camera.position.distanceTo(controls.target) };
  });
// Where a spot of the picture is on the screen, from 0 to 1 each.
async function spot(page, x, y) {
  await page.evaluate(() => document.getElementById("stage").scrollIntoView({ block: "center", behavior: "instant" }));
  const box = await page.locator("#canvas").boundingBox();
  return [box.x + x * box.width, box.y + y * box.height];
}

test("the case's words are text", async () => {
  assert.equal(await desk.textContent("h1"), findings.name);
});

test("the slider moves the lower arch to the pose of the findings", async () => {
  for (const x of findings.excursions) {
    await choose(desk, x);
    for (const i of [0, Math.floor(x.frames.length / 2), x.frames.length - 1]) {
      await desk.fill("#travel", String(i));
      near(await lowerMatrix(desk), multiply(x.frames[i].pose, findings.settling.pose), 1e-9);
    }
  }
});

test("a finding's link lands at its movement, travel and place", async () => {
  let tried = 0;
  for (const x of findings.excursions) {
    for (const g of x.findings.slice(0, 2)) {
      const link = await desk.evaluate((to) => [...document.querySelectorAll("#answer a.go")].findIndex((a) => {
        const at = decodeURIComponent(a.getAttribute("href"));
        return at === to || at.startsWith(to + ":");
      }), `#at=${x.movement}:${g.at_mm}`);
      assert.ok(link >= 0, g.text);
      await choose(desk, null);
      await desk.locator("#answer a.go").nth(link).click();
      await desk.waitForFunction(() => window.cusptraceView.movement); // the address changes a moment later
      const got = await desk.evaluate(() => ({ movement: window.cusptraceView.movement.movement, travel: window.cusptraceView.frame.travel }));
      assert.equal(got.movement, x.movement);
      assert.equal(got.travel, g.at_mm);
      if (g.point_mm) near((await camera(desk)).target, g.point_mm, 0.006);
      tried++;
    }
  }
  assert.ok(tried > 2);
});

// What the marks are made of, station by station.
const marksOn = (cast) =>
  desk.evaluate((cast) => {
    const { marks } = window.cusptraceView.scene[cast];
    return {
      list: marks.list.map(({ at, away, drawn, station, kind, radius, reach }) => ({ at, away, drawn, station, kind, radius, reach: [...reach] })),
      shown: marks.layers.map((l) => (l.visible ? l.geometry.drawRange.count : 0)), ends: marks.ends.map((e) => [...e].map((v) => v ?? null)),
    };
  }, cast);

test("every contact is a mark on the surface of both arches, where the findings say", async () => {
  for (const x of [null, ...findings.excursions]) {
    await choose(desk, x);
    const stations = x ? x.frames : [findings.centric];
    const upper = await marksOn("upper"), lower = await marksOn("lower");
    const all = stations.flatMap((f, station) => f.contacts.map((c) => ({ c, station })));
    assert.ok(all.length > 0);
    assert.equal(upper.list.length, all.length);
    assert.equal(lower.list.length, all.length);
    all.forEach(({ c, station }, k) => {
      const up = upper.list[k], lo = lower.list[k];
      assert.deepEqual([up.station, lo.station], [station, station]);
      near(up.at, c.centre_mm, 0.05 + Math.sqrt(c.area_mm2)); // the middle of its outline lies on the surface
      const m = multiply(stations[station].pose, findings.settling.pose), p = lo.at;
      near([0, 4, 8].map((r) => m[r] * p[0] + m[r + 1] * p[1] + m[r + 2] * p[2] + m[r + 3]), up.at, 1e-6);
      // The area of the outline is about that of the contact, which may wind.
      if (c.area_mm2 > 0.05) {
        const s = Math.sin(Math.PI / 8) / 2, area = up.reach.reduce((sum, r, i) => sum + s * r * up.reach[(i + 1) % 16], 0);
        assert.ok(area > 0.3 * c.area_mm2 && area < 2 * c.area_mm2, `${area} of ${c.area_mm2} mm²`);
      }
      // A field larger than a facet of the coarse casts of this test bends off its middle.
      for (const y of [up, lo]) assert.ok(y.drawn > 0 && y.away < 0.15 + 0.5 * Math.sqrt(c.area_mm2), `${c.upper}/${c.lower}: ${y.drawn} triangles, ${y.away} mm off`);
    });
  }
});

test("marks build up along a movement, or are those of the moment only", async () => {
  const x = findings.excursions[0], last = x.frames.length - 1;
  await choose(desk, x);
  for (const i of [0, 2, last]) {
    await desk.fill("#travel", String(i));
    const { shown, ends } = await marksOn("upper");
    ends.forEach((e, k) => assert.equal(shown[k], e.slice(0, i + 1).findLast((v) => v !== null) ?? 0));
  }
  const whole = (await marksOn("upper")).shown;
  await desk.click("#more summary");
  await desk.check("#show-moment");
  const moment = (await marksOn("upper")).shown;
  assert.ok(moment[0] < whole[0] && (moment[0] > 0) === x.frames[last].contacts.some((c) => c.foil_um !== Math.min(...x.frames[last].contacts.map((d) => d.foil_um))));
  await desk.uncheck("#show-moment");
  await desk.uncheck("#show-marks");
  assert.deepEqual((await marksOn("upper")).shown, [0, 0]);
  await desk.check("#show-marks");
  await desk.click("#more summary");
});

test("the occlusal chart has every tooth, stop and sign", async () => {
  const r = await desk.evaluate(() => ({
    teeth: [...document.querySelectorAll("#chart a.tooth")].map((a) => a.getAttribute("href").slice(7)),
    stops: document.querySelectorAll("#chart > svg .stop").length,
    signs: [...document.querySelectorAll("#chart > svg .sign text")].map((t) => +t.textContent),
    rows: document.querySelectorAll("#answer ol.findings > li").length,
    high: document.getElementById("chart").getBoundingClientRect().bottom + scrollY,
  }));
  assert.deepEqual(r.teeth.sort(), [...findings.scans.upper.teeth, ...findings.scans.lower.teeth].sort());
  const thin = Math.min(...findings.centric.contacts.map((c) => c.foil_um));
  const closed = findings.centric.contacts.filter((c) => c.foil_um === thin);
  assert.equal(r.stops, closed.filter((c) => c.upper).length + closed.filter((c) => c.lower).length);
  // Each finding with a place has its sign on both of its teeth.
  const found = findings.excursions.flatMap((x) => x.findings).filter((g) => g.kind !== "guidance").sort((a, b) => a.severity - b.severity);
  assert.ok(found.length > 1);
  assert.equal(r.rows, found.length);
  assert.deepEqual(r.signs.sort(), found.flatMap((g, i) => (g.point_mm ? [g.upper, g.lower].filter(Boolean).map(() => i + 1) : [])));
  assert.ok(r.high < 1000, `the chart ends at ${r.high} px`);
});

test("a tooth's card opens from the chart, the table and the view", async () => {
  const code = findings.centric.contacts[0].upper;
  const opened = async () => {
    await desk.waitForSelector(`#tooth-dialog[open] #tooth-${code}`);
    const text = await desk.textContent("#tooth-dialog");
    assert.match(text, new RegExp(`${code} .*(molar|premolar|canine|incisor)`));
    assert.match(text, /Clearance/);
    await desk.keyboard.press("Escape");
    await desk.waitForSelector(`#teeth #tooth-${code}`, { state: "attached" }); // it is back in its place
  };
  await desk.click(`#chart a[href="#tooth-${code}"]`);
  await opened();
  await desk.focus(`#chart a[href="#tooth-${code}"]`);
  await desk.keyboard.press("Enter");
  await opened();
  await desk.click("#answer details.table > summary");
  await desk.click(`table.teeth a[href="#tooth-${code}"]`);
  await opened();
  await desk.click("#answer details.table > summary");
  await choose(desk, null);
  await desk.click('#views button:text-is("Upper occlusal")');
  await spot(desk, 0.5, 0.5);
  const at = await desk.evaluate((code) => {
    const v = window.cusptraceView;
    v.scene.now();
    const [x, y] = v.scene.seenTeeth().get(+code), r = v.scene.renderer.domElement.getBoundingClientRect();
    return [r.left + x * r.width, r.top + y * r.height];
  }, code);
  await desk.mouse.click(...at);
  await opened();
});

test("codes lie on their own teeth and are hidden where those are", async () => {
  for (const side of ["Both occlusal", "Right side", "Front", "Upper occlusal", "Left lingual"]) {
    await desk.click(`#views button:text-is("${side}")`);
    await desk.evaluate(() => window.cusptraceView.scene.now()); // which hides those of the view before
    await desk.waitForFunction(() => document.querySelectorAll("#codes span:not([hidden])").length > 3);
    const wrong = await desk.evaluate(() => {
      const v = window.cusptraceView, stage = document.getElementById("stage").getBoundingClientRect();
      return v.labels.filter((l) => !l.span.hidden).flatMap((l) => {
        const r = l.span.getBoundingClientRect();
        const x = (r.left + r.right) / 2 - stage.left, y = (r.top + r.bottom) / 2 - stage.top, c = v.scene.renderer.domElement;
        const hit = v.scene.pick((2 * x) / c.clientWidth - 1, 1 - (2 * y) / c.clientHeight);
        const got = hit ? hit.cast.data.teeth[hit.vertex] : 0;
        return got === l.number ? [] : [`${l.number} lies on ${got}`];
      });
    });
    assert.deepEqual(wrong, [], side);
  }
});

test("an address that is none does no harm", async () => {
  for (const hash of ["#at=right:%E0%A4%A", "#at=right:..:1,2", "#%", "#at=right:1:1,2", "#at=right:1e999:1,2,3"]) {
    const was = await camera(desk);
    await desk.evaluate((h) => (location.hash = h), hash);
    await desk.waitForTimeout(50);
    near((await camera(desk)).at, was.at, 1e-9);
  }
});

test("the wheel scrolls the page until the view is in use", async () => {
  const [x, y] = await spot(desk, 0.5, 0.5);
  await desk.evaluate(() => document.activeElement.blur());
  await desk.mouse.move(x, y);
  const was = await camera(desk), top = await desk.evaluate(() => scrollY);
  await desk.mouse.wheel(0, 120);
  await desk.waitForFunction((top) => scrollY > top + 20, top);
  near((await camera(desk)).at, was.at, 1e-9);
});

test("keys turn, move, zoom, look, and go along the movement", async () => {
  await choose(desk, findings.excursions[0]);
  await desk.focus("#canvas");
  const press = async (key) => {
    const was = await camera(desk);
    await desk.keyboard.press(key);
    return [was, await camera(desk)];
  };
  let [a, b] = await press("ArrowLeft");
  assert.notDeepEqual(b.at, a.at);
  near(b.target, a.target, 1e-9);
  near([b.away], [a.away], 1e-6);
  [a, b] = await press("Shift+ArrowUp");
  assert.notDeepEqual(b.target, a.target);
  [a, b] = await press("+");
  assert.ok(b.away < a.away);
  await desk.keyboard.press("5");
  assert.equal(await desk.inputValue("#lower"), "hide");
  await desk.keyboard.press("3");
  assert.equal(await desk.inputValue("#lower"), "show");
  await desk.keyboard.press("PageDown");
  await desk.keyboard.press("PageDown");
  assert.equal(await desk.evaluate(() => window.cusptraceView.index), 2);
  await desk.keyboard.press("PageUp");
  assert.equal(await desk.evaluate(() => window.cusptraceView.index), 1);
});

test("the mouse turns, moves and zooms", async () => {
  const drag = async (button) => {
    const was = await camera(desk);
    const [x, y] = await spot(desk, 0.3, 0.4);
    await desk.mouse.move(x, y);
    await desk.mouse.down({ button });
    await desk.mouse.move(x + 60, y + 20, { steps: 2 });
    await desk.mouse.up({ button });
    return [was, await camera(desk)];
  };
  let [a, b] = await drag("left");
  assert.notDeepEqual(b.at, a.at);
  near(b.target, a.target, 1e-9);
  [a, b] = await drag("right");
  assert.notDeepEqual(b.target, a.target);
  await desk.mouse.wheel(0, -300);
  await desk.waitForFunction((away) => window.cusptraceView.scene.camera.position.distanceTo(window.cusptraceView.scene.controls.target) < away - 1, b.away);
});

test("fingers turn and zoom", async () => {
  const client = await phone.context().newCDPSession(phone);
  const [x, y] = await spot(phone, 0.4, 0.5);
  const touch = (type, ...points) => client.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y], id) => ({ x, y, id })) });
  const a = await camera(phone);
  await touch("touchStart", [x, y]);
  await touch("touchMove", [x + 40, y]);
  await touch("touchEnd");
  await phone.waitForFunction((x) => window.cusptraceView.scene.camera.position.x !== x, a.at[0]);
  const b = await camera(phone);
  near(b.target, a.target, 1e-9);
  await touch("touchStart", [x, y], [x + 30, y]);
  await touch("touchMove", [x - 30, y], [x + 60, y]);
  await touch("touchEnd");
  await phone.waitForFunction((away) => window.cusptraceView.scene.camera.position.distanceTo(window.cusptraceView.scene.controls.target) < away - 1, b.away);
});

test("a tap tells what was tapped", async () => {
  await phone.click('#views button:text-is("Lower occlusal")');
  await spot(phone, 0.5, 0.5);
  const at = await phone.evaluate(() => {
    const v = window.cusptraceView, { positions, teeth } = v.scene.lower.data;
    v.scene.now(); // the camera is where it should be once it has drawn
    // The highest vertex of a tooth, seen from above: nothing lies over it.
    let i = -1;
    teeth.forEach((t, k) => { if (t && (i < 0 || positions[3 * k + 2] > positions[3 * i + 2])) i = k; });
    const p = v.scene.controls.target.clone().fromArray(positions, 3 * i).applyMatrix4(v.scene.lower.mesh.matrix).project(v.scene.camera);
    const r = v.scene.renderer.domElement.getBoundingClientRect();
    return { x: r.left + ((p.x + 1) / 2) * r.width, y: r.top + ((1 - p.y) / 2) * r.height, tooth: teeth[i] };
  });
  await phone.touchscreen.tap(at.x, at.y);
  await phone.waitForSelector("#tip:not([hidden])");
  assert.match(await phone.textContent("#tip"), new RegExp(`^${at.tooth} .*gap here -?\\d+ µm|^${at.tooth} .*more than 2000`));
});

test("a tooth can be picked and its gap is that of the map", async () => {
  await choose(desk, null);
  await desk.click('#views button:text-is("Upper occlusal")');
  const at = await desk.evaluate(() => {
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
  await desk.mouse.move(at.x, at.y);
  await desk.waitForSelector("#tip:not([hidden])");
  const tip = await desk.textContent("#tip");
  assert.match(tip, new RegExp(`^${at.tooth} `));
  const [, um] = /here (-?\d+) µm/.exec(tip);
  assert.ok(Math.abs(+um - at.gap) < 150, `${um} µm near a vertex with ${at.gap} µm`);
  const c = findings.centric.contacts.find((c) => c.upper === String(at.tooth) && c.foil_um === Math.min(...findings.centric.contacts.map((c) => c.foil_um)));
  if (c) assert.match(tip, new RegExp(`meets ${c.lower}.*incline \\d+°`));
});

test("the legend matches the colours on the casts", async () => {
  const r = await desk.evaluate(() => {
    const v = window.cusptraceView, cast = v.scene.upper, limit = 1000;
    const stops = getComputedStyle(document.querySelector("#legend .bar")).backgroundImage.match(/rgb\([^)]*\)/g).map((s) => s.match(/\d+/g).map(Number));
    const back = (u) => { const c = u / 65535; return 255 * (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055); };
    let worst = 0, seen = 0;
    cast.gap.forEach((g, i) => {
      if (g < 0 || g > limit) return;
      const s = (g / limit) * (stops.length - 1), k = Math.min(stops.length - 2, Math.floor(s));
      for (let j = 0; j < 3; j++) worst = Math.max(worst, Math.abs(stops[k][j] + (s - k) * (stops[k + 1][j] - stops[k][j]) - back(cast.colours[4 * i + j])));
      seen++;
    });
    return { worst, seen, to: document.getElementById("legend-to").textContent };
  });
  assert.equal(r.to, "1000 µm");
  assert.ok(r.seen > 20 && r.worst < 1.5, JSON.stringify(r));
});

test("the room over a tooth to be restored is its least gap", async () => {
  assert.ok(findings.restore.length);
  await desk.click("#more summary");
  await desk.selectOption("#colours", "room");
  const r = await desk.evaluate((restored) => {
    const v = window.cusptraceView, out = { on: 0, off: 0, wrong: 0, closer: 0 };
    for (const { data, gap } of [v.scene.upper, v.scene.lower]) {
      const mapped = data.gaps.slice(0, v.facts.maps.length);
      gap.forEach((um, i) => {
        if (!restored.includes(data.teeth[i])) {
          // A vertex on a border belongs to two teeth.
          out.off += um === 32767;
          return;
        }
        out.on++;
        const least = Math.min(...mapped.map((m) => m[i]));
        out.wrong += um > least;
        out.closer += um < mapped[0][i];
      });
    }
    return { ...out, all: v.scene.upper.gap.length + v.scene.lower.gap.length, legend: document.getElementById("legend-to").textContent };
  }, findings.restore.map((t) => +t.tooth));
  assert.ok(r.on > 20 && r.off > 0.9 * (r.all - r.on) && r.wrong === 0 && r.closer > 0, JSON.stringify(r));
  assert.equal(r.legend, "1000 µm clearance");
  await desk.selectOption("#colours", "1000");
  await desk.click("#more summary");
});

test("arches hide and fade, the bite opens, a section cuts", async () => {
  await desk.click("#more summary");
  const state = (jaw) => desk.evaluate((jaw) => { const { mesh, material } = window.cusptraceView.scene[jaw]; return [mesh.visible, material.opacity]; }, jaw);
  await desk.selectOption("#upper", "hide");
  assert.deepEqual(await state("upper"), [false, 1]);
  await desk.selectOption("#upper", "fade");
  assert.deepEqual(await state("upper"), [true, 0.35]);
  await desk.selectOption("#upper", "show");
  await desk.selectOption("#lower", "show");
  await desk.fill("#bite", "10");
  const s = Math.sin(Math.PI / 18), c = Math.cos(Math.PI / 18);
  const open = multiply(findings.centric.pose, [1, 0, 0, 0, 0, c, -s, 0, 0, s, c, 0, 0, 0, 0, 1]);
  near(await lowerMatrix(desk), multiply(open, findings.settling.pose), 1e-9);
  await desk.fill("#bite", "0");
  for (const kind of ["sagittal", "frontal", "horizontal"]) {
    await desk.selectOption("#section", kind);
    await desk.fill("#section-at", "0.3");
    const left = await desk.evaluate(() => {
      const { renderer, controls, upper, lower } = window.cusptraceView.scene, p = renderer.clippingPlanes.at(-1);
      let n = 0, all = 0;
      for (const { mesh } of [upper, lower]) {
        const at = mesh.geometry.attributes.position;
        all += at.count;
        for (let i = 0; i < at.count; i++) if (p.distanceToPoint(controls.target.clone().fromBufferAttribute(at, i).applyMatrix4(mesh.matrix)) >= 0) n++;
      }
      return n / all;
    });
    assert.ok(left > 0.01 && left < 0.99, `${kind}: ${left} of the arches is left`);
  }
  await desk.selectOption("#section", "none");
  await desk.click("#more summary");
});

test("a section is outlined where the plane cuts the surface, and the ruler measures", async () => {
  await desk.click("#more summary");
  for (const [kind, axis] of [["sagittal", "x"], ["frontal", "y"], ["horizontal", "z"]]) {
    await desk.selectOption("#section", kind);
    await desk.fill("#section-at", "0.5");
    const r = await desk.evaluate((axis) => {
      const { scene } = window.cusptraceView;
      scene.now();
      const at = -scene.plane.constant / scene.plane.normal[axis];
      const points = scene.section.lines.flat(2);
      // The corners of a cap lie on the outlines, a little on the side that is kept.
      const caps = scene.section.caps.flatMap((m) => { const a = m.geometry.attributes.position; return [...Array(a.count).keys()].map((i) => points[0].clone().fromBufferAttribute(a, i)); });
      return {
        lines: scene.section.lines.flat().length,
        off: Math.max(...points.map((p) => Math.abs(p[axis] - at))),
        caps: caps.length,
        stray: Math.max(...caps.map((c) => Math.min(...points.map((p) => p.distanceTo(c))))),
      };
    }, axis);
    assert.ok(r.lines > 0 && r.off < 1e-4 && r.caps > 30 && r.stray < 0.021, `${kind}: ${JSON.stringify(r)}`);
  }
  await desk.selectOption("#section", "none");
  await desk.check("#show-ruler");
  await desk.click('#views button:text-is("Upper occlusal")');
  await spot(desk, 0.5, 0.5);
  const [a, b, mm] = await desk.evaluate(() => {
    const v = window.cusptraceView, c = v.scene.renderer.domElement, r = c.getBoundingClientRect();
    v.scene.now();
    const [p, q] = [...v.scene.seenTeeth().values()].filter((_, i) => i === 2 || i === 8);
    const at = ([x, y]) => [r.left + x * r.width, r.top + y * r.height];
    const hit = ([x, y]) => v.scene.pick(2 * x - 1, 1 - 2 * y).point;
    return [at(p), at(q), hit(p).distanceTo(hit(q))];
  });
  await desk.mouse.click(...a);
  await desk.mouse.click(...b);
  const said = await desk.textContent(".measure");
  assert.match(said, /^\d+\.\d\d mm$/);
  assert.ok(mm > 3 && Math.abs(parseFloat(said) - mm) < 0.4, `${said}, not ${mm}`);
  await desk.uncheck("#show-ruler");
  await desk.click("#more summary");
});

test("it plays to the end and shows every station, on a slow machine too", async () => {
  const x = findings.excursions.at(-1);
  await choose(desk, x);
  await desk.evaluate(() => {
    // A picture takes half a second: much more than a station.
    const v = window.cusptraceView, frame = window.requestAnimationFrame, now = v.scene.now;
    let clock = 0;
    v.drawn = [];
    window.requestAnimationFrame = (f) => frame(() => f((clock += 500)));
    v.scene.now = function () {
      v.drawn.push(v.index);
      now.call(this);
    };
    v.scene.draw();
  });
  await desk.click("#play");
  await desk.waitForFunction((n) => window.cusptraceView.index === n && !window.cusptraceView.playing, x.frames.length - 1);
  await desk.evaluate(() => window.cusptraceView.scene.now());
  const drawn = await desk.evaluate(() => [...new Set(window.cusptraceView.drawn)].sort((a, b) => a - b));
  assert.deepEqual(drawn, x.frames.map((_, i) => i));
  assert.equal(await desk.getAttribute("#play", "aria-pressed"), "false");
});

// axe-core is the engine of most accessibility checkers; its rules are those of
// WCAG 2.1, A and AA, contrast among them.
test("headings, labels, tables and contrast are as WCAG AA wants them", async () => {
  await desk.addScriptTag({ content: axe });
  const r = await desk.evaluate(async () => {
    for (const d of document.querySelectorAll("details")) d.open = true;
    // The codes, which are cut off at the picture, would count as lying over the controls.
    document.getElementById("codes").hidden = true;
    // Codes and legend lie over the picture: the worst that can be under them is
    // black.
    const light = (rgb) => rgb.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)).reduce((s, v, k) => s + v * [0.2126, 0.7152, 0.0722][k], 0);
    const over = ["#codes span", "#legend"].map((what) => {
      const style = getComputedStyle(document.querySelector(what));
      const [ink, [r, g, b, alpha]] = [style.color, style.backgroundColor].map((c) => c.match(/[\d.]+/g).map(Number));
      return (light([r, g, b].map((v) => v * alpha)) + 0.05) / (light(ink) + 0.05);
    });
    // Text of charts lies on white, that of the occlusal chart too.
    for (const t of document.querySelectorAll(".plot text, .plan .code, .plan .side, .plan .gone")) {
      const [r, g, b] = getComputedStyle(t).fill.match(/[\d.]+/g).map(Number);
      over.push(1.05 / (light([r, g, b]) + 0.05));
    }
    // Cards of teeth are alike: two stand for all.
    const tell = (list) => list.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ") + " " + n.any.map((a) => a.message).join("; ")).slice(0, 3).join(" | ")}`);
    const got = await axe.run({ exclude: ["#codes", "#legend", ".plot", "#chart svg", "svg.sign", ".tooth-card:nth-of-type(n + 3)"] }, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"] });
    const chart = await axe.run({ include: ["#chart"] }, { runOnly: { type: "rule", values: ["link-name", "aria-allowed-attr", "aria-allowed-role", "svg-img-alt"] } });
    got.violations.push(...chart.violations);
    return { wrong: tell(got.violations), unsure: tell(got.incomplete), contrast: got.passes.find((p) => p.id === "color-contrast").nodes.length, over };
  });
  assert.deepEqual(r.wrong, []);
  assert.deepEqual(r.unsure, []);
  assert.ok(Math.min(...r.over) >= 4.5 && r.over.length > 10, `contrast over the picture and in charts ${r.over}`);
  assert.ok(r.contrast > 50, `contrast of ${r.contrast} texts`);
});

test("it fits a phone", async () => {
  assert.ok((await phone.evaluate(() => document.documentElement.scrollWidth)) <= 360);
  if (!shots) return;
  for (const [name, page, high] of [["phone", phone, 740], ["desk", desk, 800]]) {
    await page.evaluate(() => document.documentElement.style.setProperty("scroll-behavior", "auto"));
    const all = await page.evaluate(() => document.documentElement.scrollHeight);
    for (let y = 0, i = 0; y < all; y += high, i++) {
      await page.evaluate((y) => window.scrollTo(0, y), y);
      await page.screenshot({ path: join(shots, `${name}-${String(i).padStart(2, "0")}.png`) });
    }
  }
});

test("paper has what is open and cuts nothing off", async () => {
  // What is folded stays so, what a reader has opened is printed; the findings are printed in full.
  const seen = (what) => phone.evaluate((what) => [...document.querySelectorAll(what)].map((t) => t.checkVisibility()), what);
  const folded = await seen(".fold table");
  assert.ok(folded.length > 1 && !folded.includes(true), "folded on the screen");
  await phone.evaluate(() => (document.querySelector(".fold").open = true));
  await phone.emulateMedia({ media: "print" });
  assert.deepEqual(await seen(".fold table"), folded.map((_, i) => i === 0));
  const full = await seen(".found .findings details p");
  assert.ok(full.length > 1 && !full.includes(false));
  await phone.evaluate(() => (document.querySelector(".fold").open = false));
  const size = phone.viewportSize();
  await phone.setViewportSize({ width: 695, height: 1032 }); // A4 without its margins
  const over = await phone.evaluate(() => [...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > 696).map((e) => `${e.closest("section").id} ${e.tagName} ${e.textContent.slice(0, 40)}`));
  assert.deepEqual(over, []);
  await phone.setViewportSize(size);
  await phone.emulateMedia({ media: null });
});

test("it prints on A4 and Letter", async () => {
  for (const [format, box] of [["A4", [595, 842]], ["Letter", [612, 792]]]) {
    const pdf = await phone.pdf({ format });
    const text = pdf.toString("latin1");
    const pages = text.match(/\/Type\s*\/Page\b/g).length;
    assert.ok(pages > 1 && pages <= 6, `${pages} pages of ${format}`);
    near(/\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(text).slice(1).map(Number), box, 1);
    if (shots) writeFileSync(join(shots, `${format}.pdf`), pdf);
  }
});

test("it draws, even with a software renderer", async () => {
  const r = await desk.evaluate(() => {
    const v = window.cusptraceView, gl = v.scene.renderer.getContext();
    const w = gl.drawingBufferWidth, h = gl.drawingBufferHeight, pixels = new Uint8Array(4 * w * h);
    const start = performance.now();
    for (let i = 0; i < 3; i++) {
      v.scene.now();
      gl.readPixels(0, 0, w, h, gl.RGBA, gl.UNSIGNED_BYTE, pixels); // waits for the picture
    }
    const ms = (performance.now() - start) / 3, colours = new Set();
    let drawn = 0;
    for (let i = 0; i < pixels.length; i += 4) {
      if (pixels[i + 3] !== 255) continue;
      drawn++;
      colours.add((pixels[i] << 16) | (pixels[i + 1] << 8) | pixels[i + 2]);
    }
    return { ms, drawn: drawn / (w * h), colours: colours.size, w, h };
  });
  console.log(`a picture of ${r.w} by ${r.h} takes ${r.ms.toFixed(1)} ms here`);
  assert.ok(r.drawn > 0.03 && r.colours > 100, JSON.stringify(r));
});

test("nothing was asked of any network, and nothing complained", () => {
  assert.deepEqual(asked.filter((u) => u !== address && !u.startsWith(address + "#") && !u.startsWith("data:") && !u.startsWith("blob:")), []);
  assert.deepEqual(said, []);
});
