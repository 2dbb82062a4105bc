// The 3D view of the report: joins the scene with the controls of the page.
import * as THREE from "three";
import { FAR } from "./cast.js";
import { followTeeth, showTooth } from "./cards.js";
import { read } from "./data.js";
import { steer } from "./keys.js";
import { Ruler } from "./ruler.js";
import { Scene, matrix, views } from "./scene.js";

const $ = (id) => document.getElementById(id);

async function start() {
  const data = await read();
  $("viewer").hidden = false;
  const canvas = $("canvas");
  const scene = new Scene(canvas, data);
  $("no-view").hidden = true;
  const view = new View(scene, data);
  // For tests and for the curious: what the scene holds at the moment.
  window.cusptraceView = view;
}

class View {
  constructor(scene, data) {
    this.scene = scene;
    this.facts = data.facts;
    this.code = new Map(["upper", "lower"].flatMap((jaw) => data[jaw].codes.map((t) => [String(t.number), t.code])));
    this.movement = null; // null: closed
    this.index = 0;
    this.playing = false;
    this.buttons();
    this.options();
    this.codes();
    this.pointer();
    this.keys();
    this.foils();
    scene.after = () => {
      this.codesWhenStill();
      this.ruler.place();
    };
    new ResizeObserver(() => scene.resize()).observe($("stage"));
    scene.resize();
    this.cursors();
    this.choose(null);
    this.look(views[0]);
    window.addEventListener("hashchange", () => this.follow());
    document.addEventListener("click", (e) => {
      const a = e.target.closest("a.go");
      if (a && a.getAttribute("href") === location.hash) this.follow();
    });
    this.follow();
  }

  get frames() {
    return this.movement ? this.movement.frames : [this.facts.closed];
  }

  // say writes what a key stands for in the language of the report.
  say(key, values = {}) {
    return this.facts.words[key].replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
  }

  // tooth writes an ISO 3950 code in the notation of the report.
  tooth(code) {
    return this.code.get(code) || code || this.say("dash");
  }

  get frame() {
    return this.frames[this.index];
  }

  // lowerMatrix is where the lower arch is drawn, row by row.
  get lowerMatrix() {
    return this.scene.moved.clone().transpose().toArray();
  }

  buttons() {
    const add = (box, text, press) => {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = text;
      b.setAttribute("aria-pressed", "false");
      b.addEventListener("click", press);
      $(box).append(b);
      return b;
    };
    this.choices = [[null, add("movements", this.say("label.closed"), () => this.choose(null))]];
    for (const m of this.facts.movements) {
      if (m.frames.length) this.choices.push([m, add("movements", m.title, () => this.choose(m))]);
    }
    this.looks = views.map((v) => add("views", this.say("view.look." + v.name), () => this.look(v)));
    $("play").addEventListener("click", () => this.play(!this.playing));
    $("travel").addEventListener("input", () => this.go(+$("travel").value));
  }

  choose(m) {
    this.play(false);
    this.movement = m;
    this.mark();
    for (const [x, b] of this.choices) b.setAttribute("aria-pressed", String(x === m));
    const slider = $("travel");
    slider.max = this.frames.length - 1;
    slider.disabled = $("play").disabled = !m;
    this.go(0);
  }

  look(v) {
    for (const [i, b] of this.looks.entries()) b.setAttribute("aria-pressed", String(views[i] === v));
    for (const jaw of ["upper", "lower"]) {
      const how = v.fade === jaw ? "fade" : v.only && v.only !== jaw ? "hide" : "show";
      if (v.only || v.fade || v.book || $(jaw).dataset.byView) {
        $(jaw).value = how;
        $(jaw).dataset.byView = how === "show" ? "" : "yes";
        this.scene[jaw].fade(how);
      }
    }
    this.scene.look(v);
  }

  // go shows a frame.
  go(index) {
    this.index = Math.max(0, Math.min(this.frames.length - 1, index));
    const f = this.frame;
    $("travel").value = this.index;
    const travel = f.travel || 0;
    $("travel-out").textContent = this.movement ? this.say("view.at", { travel: travel.toFixed(1), opening: f.opening.toFixed(2) }) : this.say("view.at.closed");
    $("travel").setAttribute("aria-valuetext", $("travel-out").textContent);
    this.refresh();
    // Only another guiding pair is announced, not every station.
    const told = f.carrier ? this.say("view.guiding", { pair: `${this.tooth(f.carrier.upper)}/${this.tooth(f.carrier.lower)}` }) : "";
    if ($("announce").textContent !== told) $("announce").textContent = told;
    const pairs = [...new Set(f.contacts.map((c) => `${this.tooth(c.upper)}/${this.tooth(c.lower)}`))];
    $("state").textContent = (told && told + " ") + (pairs.length ? this.say("view.contacts", { pairs: pairs.join(", ") }) : this.say("view.contacts.none"));
    for (const c of this.lines) {
      const on = this.movement && c.movement === this.movement.movement;
      c.line.hidden = !on;
      if (on) c.line.style.left = `${100 * (c.left + ((travel - c.first) / (c.last - c.first)) * (c.right - c.left))}%`;
    }
  }

  refresh() {
    const f = this.frame;
    const limit = this.room ? 1000 : +$("colours").value;
    const bite = +$("bite").value;
    this.scene.pose(f.pose, bite);
    this.ruler.clear(); // what it measured has moved
    const [a, b, t] = this.maps(f.travel || 0);
    this.scene.upper.show(a, b, t, limit);
    this.scene.lower.show(a, b, t, limit);
    const shown = $("show-marks").checked, first = $("show-moment").checked ? this.index : 0;
    for (const cast of [this.scene.upper, this.scene.lower]) cast.marks.show(shown ? first : 0, shown ? this.index : -1);
    $("legend-to").textContent = this.room ? this.say("view.room.to", { um: limit }) : limit ? this.say("view.gap.end", { um: limit }) : "";
    $("legend").hidden = !limit && !shown;
    $("legend-map").hidden = !limit;
    $("bite-out").textContent = `${bite}°`;
    this.scene.draw();
  }

  // room says that the colours are those of the least gap over all positions, on
  // teeth to be restored.
  get room() {
    return $("colours").value === "room";
  }

  // maps are the nearest two positions at which clearance was mapped, and the
  // share of the second.
  maps(travel) {
    if (this.room) return [this.facts.maps.length, this.facts.maps.length, 0];
    const name = this.movement ? this.movement.movement : "";
    const list = this.facts.maps.map((m, i) => ({ ...m, i })).filter((m) => m.movement === "" || m.movement === name);
    let a = list[0], b = list[0];
    for (const m of list) {
      if (m.travel <= travel) a = m;
      b = m;
      if (m.travel >= travel) break;
    }
    return [a.i, b.i, b.travel > a.travel ? (travel - a.travel) / (b.travel - a.travel) : 0];
  }

  // mark puts the marks of all stations of the movement on both arches, each station
  // where the lower arch stands then.
  mark() {
    const thin = this.facts.foils[0];
    const upper = [], lower = [];
    this.frames.forEach((f, station) => {
      const back = matrix(f.pose).multiply(this.scene.settling).invert();
      for (const c of f.contacts) {
        const guides = f.carrier && f.carrier.upper === c.upper && f.carrier.lower === c.lower && c.foil_um === thin;
        const m = { reach: c.reach, kind: c.foil_um !== thin ? 0 : guides ? 2 : 1, station };
        upper.push({ ...m, tooth: +c.upper, at: c.middle, normal: c.normal, along: c.along });
        lower.push({
          ...m,
          tooth: +c.lower,
          at: new THREE.Vector3(...c.middle).applyMatrix4(back).toArray(),
          normal: new THREE.Vector3(...c.normal).transformDirection(back).toArray(),
          along: new THREE.Vector3(...c.along).transformDirection(back).toArray(),
        });
      }
    });
    this.scene.upper.marks.set(upper);
    this.scene.lower.marks.set(lower);
  }

  play(on) {
    this.playing = on;
    $("play").setAttribute("aria-pressed", String(on));
    $("play").textContent = this.say(on ? "view.pause" : "view.play");
    if (!on) return;
    if (this.index === this.frames.length - 1) this.go(0);
    let last = 0, travel = this.frame.travel;
    const step = (now) => {
      if (!this.playing) return;
      if (last) travel += (1.5 * (now - last)) / 1000; // mm of the condyle
      last = now;
      // One station a picture at most, so that none is skipped, however slow the machine;
      // the way that it could not keep up with is forgotten.
      if (this.frames[this.index + 1].travel <= travel) {
        this.go(this.index + 1);
        travel = Math.min(travel, this.frame.travel + 0.1);
      }
      if (this.index === this.frames.length - 1) this.play(false);
      else requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  options() {
    for (const jaw of ["upper", "lower"]) {
      $(jaw).addEventListener("change", () => {
        $(jaw).dataset.byView = "";
        this.scene[jaw].fade($(jaw).value);
        this.scene.draw();
      });
    }
    for (const id of ["colours", "show-marks", "show-moment"]) $(id).addEventListener("input", () => this.refresh());
    $("bite").addEventListener("input", () => {
      if (this.scene.book) this.look(views.find((v) => v.name === "front"));
      this.refresh();
      this.scene.fit(this.scene.direction); // an open bite stays in the picture
    });
    $("show-codes").addEventListener("input", () => this.scene.draw());
    for (const id of ["section", "section-at"]) {
      $(id).addEventListener("input", () => {
        $("section-at").disabled = $("section").value === "none";
        this.scene.cut($("section").value, +$("section-at").value);
        this.scene.draw();
      });
    }
    // A section is looked at from the side that was cut away.
    $("section").addEventListener("input", () => {
      const toward = { sagittal: [1, -0.15, 0.1], frontal: [0.12, -1, 0.1], horizontal: [0, -0.02, 1] }[$("section").value];
      if (toward) this.look({ toward });
    });
    this.ruler = new Ruler(this.scene, (mm) => this.say("view.ruler.mm", { mm: mm.toFixed(2) }));
    $("show-ruler").addEventListener("input", () => this.ruler.use($("show-ruler").checked));
  }

  foils() {
    const [thin, thick] = this.facts.foils;
    $("foil-thin").textContent = thin === undefined ? "" : this.say("foil.within", { um: thin });
    $("foil-thick").textContent = thick === undefined ? "" : this.say("foil.within", { um: thick });
    $("foil-thick-key").hidden = thick === undefined;
  }

  // cursors are the lines in the charts that show the moment of the view.
  cursors() {
    this.lines = [];
    for (const figure of document.querySelectorAll("figure.chart")) {
      const d = figure.dataset;
      const line = document.createElement("div");
      line.className = "now";
      line.hidden = true;
      const plot = figure.querySelector(".plot");
      plot.append(line);
      this.lines.push({ line, movement: d.movement, left: +d.left, right: +d.right, first: +d.first, last: +d.last });
    }
  }

  codes() {
    this.labels = [];
    for (const cast of [this.scene.upper, this.scene.lower]) {
      for (const t of cast.data.codes) {
        const span = document.createElement("span");
        span.textContent = t.code;
        $("codes").append(span);
        span.hidden = true;
        this.labels.push({ span, number: t.number });
      }
    }
  }

  // codesWhenStill hides the codes while something moves, and puts them back when it
  // has stopped.
  codesWhenStill() {
    for (const l of this.labels) l.span.hidden = true;
    clearTimeout(this.still);
    if ($("show-codes").checked) this.still = setTimeout(() => this.placeCodes(), 120);
  }

  // placeCodes puts each code on what is seen of its tooth, if anything is.
  placeCodes() {
    const canvas = this.scene.renderer.domElement;
    const seen = this.scene.seenTeeth(this.marked());
    for (const l of this.labels) {
      const at = seen.get(l.number);
      l.span.hidden = !at;
      if (at) l.span.style.transform = `translate(${at[0] * canvas.clientWidth}px, ${at[1] * canvas.clientHeight}px) translate(-50%, -50%)`;
    }
  }

  // marked is where the marks that are shown lie in the picture, by their tooth, in shares of
  // its width and height.
  marked() {
    const out = new Map();
    for (const { mesh, marks } of [this.scene.upper, this.scene.lower]) {
      for (const m of marks.list) {
        if (m.station < marks.first || m.station > marks.last) continue;
        const p = new THREE.Vector3(...m.at).applyMatrix4(mesh.matrix).project(this.scene.camera);
        if (!out.has(m.tooth)) out.set(m.tooth, []);
        out.get(m.tooth).push([(p.x + 1) / 2, (1 - p.y) / 2]);
      }
    }
    return out;
  }

  pointer() {
    const canvas = this.scene.renderer.domElement;
    // The view is in use once it has the focus; until then the wheel and a finger that
    // goes up or down scroll the page.
    canvas.style.touchAction = "pan-y";
    canvas.addEventListener("focus", () => (canvas.style.touchAction = "none"));
    canvas.addEventListener("blur", () => (canvas.style.touchAction = "pan-y"));
    canvas.addEventListener("pointerup", () => canvas.focus({ preventScroll: true }));
    $("stage").addEventListener("wheel", (e) => document.activeElement !== canvas && e.stopPropagation(), { capture: true, passive: true });
    let waiting = null;
    const ask = (e) => {
      const r = canvas.getBoundingClientRect();
      const spot = [((e.clientX - r.left) / r.width) * 2 - 1, 1 - ((e.clientY - r.top) / r.height) * 2];
      if (!waiting) {
        requestAnimationFrame(() => {
          this.tell(this.scene.pick(...waiting));
          waiting = null;
        });
      }
      waiting = spot;
    };
    canvas.addEventListener("pointermove", (e) => e.buttons === 0 && ask(e));
    canvas.addEventListener("pointerup", ask);
    // A click that does not turn the casts opens the card of the tooth under it.
    let pressed = null;
    canvas.addEventListener("pointerdown", (e) => (pressed = e.isPrimary && e.button === 0 ? [e.clientX, e.clientY] : null));
    canvas.addEventListener("click", (e) => {
      if (!pressed || Math.hypot(e.clientX - pressed[0], e.clientY - pressed[1]) > 5) return;
      const r = canvas.getBoundingClientRect();
      const hit = this.scene.pick(((e.clientX - r.left) / r.width) * 2 - 1, 1 - ((e.clientY - r.top) / r.height) * 2);
      if (this.ruler.on) return hit && this.ruler.set(hit.point);
      const number = hit && hit.cast && hit.cast.data.teeth[hit.vertex];
      if (number && e.pointerType !== "touch") showTooth(String(number));
    });
    canvas.addEventListener("pointerleave", () => ($("tip").hidden = true));
  }

  // tell writes what was picked.
  tell(hit) {
    const tip = $("tip");
    tip.hidden = !hit || !hit.cast || this.ruler.on;
    if (tip.hidden) return;
    const number = hit.cast.data.teeth[hit.vertex];
    const tooth = hit.cast.data.codes.find((t) => t.number === number);
    const gap = hit.cast.gap[hit.vertex];
    const lines = [gap === FAR ? this.say("view.gap.far") : this.say("view.gap.here", { um: Math.round(gap) })];
    if (this.room) lines[0] = gap === FAR ? this.say("view.room.none") : this.say("view.room.here", { um: Math.round(gap) });
    if (tooth) {
      const clear = (this.frame.clearance || {})[String(tooth.number)];
      if (clear !== undefined) lines.push(this.say("view.clearance", { um: Math.round(1000 * clear) }));
      const jaw = hit.cast === this.scene.upper ? "upper" : "lower";
      const other = jaw === "upper" ? "lower" : "upper";
      for (const c of this.frame.contacts.filter((c) => c[jaw] === String(tooth.number) && c.foil_um === this.facts.foils[0])) {
        const incline = c.incline_deg[jaw];
        const meets = { tooth: this.tooth(c[other]), deg: Math.round(incline) };
        lines.push(this.say(incline === null ? "view.meets" : "view.meets.incline", meets));
      }
    }
    tip.replaceChildren();
    const head = document.createElement(tooth ? "a" : "strong"); // to the card, for those who tap
    if (tooth) {
      head.className = "tooth";
      head.href = "#tooth-" + tooth.number;
    }
    head.textContent = tooth ? `${tooth.code} ${tooth.name}` : hit.cast.data.codes.length ? this.say("view.no_tooth") : this.say("view.surface");
    tip.append(head, lines.join("; "));
    this.picked = tooth ? tooth.code : null;
  }

  keys() {
    const canvas = this.scene.renderer.domElement;
    canvas.addEventListener("keydown", (e) => {
      if (e.ctrlKey || e.metaKey || e.altKey) return; // the browser's
      if (steer(this.scene, e)) return e.preventDefault();
      if (views[+e.key - 1]) this.look(views[+e.key - 1]);
      else if (e.key === "PageDown") this.go(this.index + 1);
      else if (e.key === "PageUp") this.go(this.index - 1);
      else if (e.key === "Escape") canvas.blur();
      else if (e.key === " " && this.movement) this.play(!this.playing);
      else return;
      e.preventDefault();
    });
  }

  // follow goes where a link says, #at=MOVEMENT:TRAVEL:X,Y,Z, and scrolls there.
  follow() {
    // What does not decode or has no numbers is no place.
    let to = "";
    try {
      to = decodeURIComponent(location.hash);
    } catch {
      return;
    }
    const m = /^#at=(\w*):([\d.e+-]+)(?::(-?[\d.]+,-?[\d.]+,-?[\d.]+))?$/.exec(to);
    if (!m || !Number.isFinite(+m[2]) || (m[3] && !m[3].split(",").every((v) => Number.isFinite(+v)))) return;
    const movement = this.facts.movements.find((x) => x.movement === m[1] && x.frames.length) || null;
    this.choose(movement);
    let best = 0;
    this.frames.forEach((f, i) => {
      if (Math.abs((f.travel || 0) - +m[2]) < Math.abs((this.frames[best].travel || 0) - +m[2])) best = i;
    });
    this.go(best);
    if (m[3]) {
      const p = m[3].split(",").map(Number);
      // From outside and above, through the upper arch, so that the marks show.
      const side = Math.abs(p[0]) > 8 ? Math.sign(p[0]) : 0;
      this.look({ toward: [0.8 * side, side ? -0.3 : -0.85, 0.6], fade: "upper" });
      this.scene.at(p);
    }
    $("view").scrollIntoView();
  }
}

followTeeth();
start().catch((e) => {
  $("viewer").hidden = true;
  $("no-view").hidden = false;
  console.warn("3D view: " + e.message);
});
