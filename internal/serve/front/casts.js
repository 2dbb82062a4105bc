// @ts-check
// The casts in the page: teeth coloured and numbered, corrected by clicking; points put on them. It
// shares its scene with the 3D view of the report.
import * as THREE from "three";
import { steer } from "../../../pkg/report/internal/view/src/keys.js";
import { Scene, rgb, views } from "../../../pkg/report/internal/view/src/scene.js";

/**
 * @typedef {{number: number, code: string, name: string, sure: string, unsure: boolean}} Tooth
 * @typedef {{vertices: number, triangles: number, from_scan: number[], given: boolean, teeth: Tooth[], all: {code: string, name: string}[]}} Head
 * @typedef {{upper: Head, lower: Head, together: boolean, finding: boolean, words: Record<string, string>}} Heads
 * @typedef {"upper" | "lower"} Jaw
 */

/** @returns {HTMLElement} the element of an id, which is there */
const $ = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
const identity = new THREE.Matrix4().toArray();
const jaws = /** @type {Jaw[]} */ (["upper", "lower"]);

// Two tones in turn, so that neighbours differ; what is doubtful has stripes too.
const tones = ["#ecdfc0", "#d9b98c"].map(rgb), doubtful = rgb("#e08a3c"), chosen = rgb("#7d5ba6");
const facts = { colours: [], tooth: "#ece5d6", gum: "#d8c4bb", overlap: "#d55e00", settling: identity, closed: { pose: identity } };

// load reads the casts as casts.go writes them; null where there are none.
async function load() {
  const answer = await fetch("/casts");
  if (!answer.ok) return null;
  const buffer = await answer.arrayBuffer();
  const length = new DataView(buffer).getUint32(0, true);
  const head = /** @type {Heads} */ (JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length))));
  let at = 4 + length;
  const arch = (/** @type {Head} */ h) => {
    const { vertices: n, triangles } = h;
    const positions = new Float32Array(buffer.slice(at, (at += 12 * n)));
    const corners = new Uint32Array(buffer.slice(at, (at += 12 * triangles)));
    const normals = new Int8Array(buffer.slice(at, (at += 3 * n)));
    const teeth = new Uint8Array(buffer.slice(at, (at += n)));
    const to = new THREE.Matrix4().fromArray(h.from_scan).transpose(), p = new THREE.Vector3();
    for (let i = 0; i < n; i++) {
      p.fromArray(positions, 3 * i).applyMatrix4(to).toArray(positions, 3 * i);
      p.fromArray(normals, 3 * i).transformDirection(to).multiplyScalar(127).toArray(normals, 3 * i);
    }
    return { positions, normals, teeth, corners, gaps: [], codes: h.teeth, to };
  };
  return { facts: { ...facts }, head, upper: arch(head.upper), lower: arch(head.lower) };
}

// comma writes a point as corrections name it, to a hundredth of a millimetre.
const comma = (/** @type {THREE.Vector3} */ p) => p.toArray().map((v) => v.toFixed(2)).join(",");

// colourOf is the colour of a tooth by its number, and of crowns that have none yet.
const colourOf = (/** @type {number} */ t) => tones[(Math.floor(t / 10) + t) % 2];

// The codes of teeth, each put on what is seen of its tooth once nothing moves any more.
class Codes {
  constructor(/** @type {any} */ scene, /** @type {HTMLCanvasElement} */ canvas) {
    this.scene = scene;
    this.canvas = canvas;
    /** @type {{span: HTMLElement, number: number}[]} */
    this.labels = [];
    scene.after = () => this.whenStill();
  }

  take(/** @type {Heads} */ head) {
    this.labels = jaws.flatMap((jaw) => head[jaw].teeth.filter((t) => t.code).map((t) => {
      const span = document.createElement("span");
      span.textContent = t.code;
      return { span, number: t.number };
    }));
    $("codes").replaceChildren(...this.labels.map((l) => l.span));
  }

  whenStill() {
    for (const l of this.labels) l.span.hidden = true;
    clearTimeout(this.still);
    this.still = setTimeout(() => {
      const seen = this.scene.seenTeeth();
      for (const l of this.labels) {
        const at = seen.get(l.number);
        l.span.hidden = !at;
        if (at) l.span.style.transform = `translate(${at[0] * this.canvas.clientWidth}px, ${at[1] * this.canvas.clientHeight}px) translate(-50%, -50%)`;
      }
    }, 120);
  }
}

class Casts {
  constructor(/** @type {any} */ data, /** @type {(what: string) => void} */ act) {
    this.act = act;
    /** @type {HTMLCanvasElement} */
    this.canvas = /** @type {HTMLCanvasElement} */ ($("canvas"));
    /** @type {any} the scene of the report's view, which carries no types */
    this.scene = new Scene(this.canvas, data);
    this.codes = new Codes(this.scene, this.canvas);
    /** @type {{jaw: Jaw, tooth: Tooth | null, point: THREE.Vector3} | null} what was clicked, its point in the frame of the scan */
    this.picked = null;
    /** @type {HTMLInputElement | null} the field whose point a click puts */
    this.placing = null;
    /** @type {THREE.Mesh[]} */
    this.markers = [];
    /** @type {{jaw: Jaw, code: string, points: THREE.Vector3[]} | null} the border that is being drawn, in the frame of the scan */
    this.drawing = null;
    /** @type {THREE.Object3D[]} */
    this.line = [];
    this.looks = views.slice(0, 6).map((v) => {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = data.head.words["view.look." + v.name];
      b.addEventListener("click", () => this.look(v));
      $("looks").append(b);
      return b;
    });
    this.take(data);
    this.pointer();
    this.panel();
    this.fields();
    new ResizeObserver(() => {
      const before = this.scene.camera.aspect;
      this.scene.resize();
      if (Math.abs(Math.log(this.scene.camera.aspect / before)) > 0.2) this.look(this.view); // a phone was turned
    }).observe($("stage"));
    this.scene.resize();
    this.look(views[0]);
  }

  // take shows the casts of data.
  take(/** @type {any} */ data) {
    this.data = data;
    /** @type {Heads} */
    this.head = data.head;
    this.codes.take(this.head);
    this.close();
    this.mark();
  }

  // reload shows what the server holds now.
  async reload() {
    const data = await load();
    if (!data) return;
    this.scene.take(data);
    this.take(data);
    this.look(this.view, true);
  }

  say(/** @type {string} */ key, /** @type {Record<string, string>} */ values = {}) {
    return this.head.words[key].replace(/\{(\w+)\}/g, (all, name) => values[name] ?? all);
  }

  // look turns the camera to a standard view, or stays where it is.
  look(/** @type {any} */ view, stay = false) {
    this.view = view;
    this.looks.forEach((b, i) => b.setAttribute("aria-pressed", String(views[i] === view)));
    for (const jaw of jaws) this.scene[jaw].fade(view.only && view.only !== jaw ? "hide" : "show");
    if (stay) {
      this.scene.place();
      this.scene.draw();
    } else this.scene.look(view);
  }

  // colour colours the teeth.
  colour() {
    for (const jaw of jaws) {
      const unsure = new Set(this.head[jaw].teeth.filter((t) => t.unsure).map((t) => t.number));
      const of = this.picked?.jaw === jaw && this.picked.tooth ? this.picked.tooth.number : 0;
      this.scene[jaw].tint((/** @type {number} */ t) =>
        !t ? null : { rgb: t === of ? chosen : unsure.has(t) ? doubtful : colourOf(t), stripes: unsure.has(t) && t !== of });
    }
    this.scene.draw();
  }

  // hit is what lies under a spot of the canvas: the arch, its tooth and the point in the frame of its scan.
  hit(/** @type {number} */ x, /** @type {number} */ y) {
    const hit = this.scene.pick(x, y);
    if (!hit?.cast) return null;
    const jaw = /** @type {Jaw} */ (hit.cast === this.scene.upper ? "upper" : "lower");
    const number = hit.cast.data.teeth[hit.vertex];
    const at = hit.point.clone().applyMatrix4(hit.cast.mesh.matrix.clone().invert());
    return { jaw, tooth: this.head[jaw].teeth.find((t) => t.number === number) || null, at, point: at.clone().applyMatrix4(hit.cast.data.to.clone().invert()) };
  }

  pointer() {
    const { canvas } = this;
    const spot = (/** @type {PointerEvent | MouseEvent} */ e) => {
      const r = canvas.getBoundingClientRect();
      return /** @type {[number, number]} */ ([((e.clientX - r.left) / r.width) * 2 - 1, 1 - ((e.clientY - r.top) / r.height) * 2]);
    };
    // The wheel and a finger scroll the page until the view is in use, as in the report.
    canvas.style.touchAction = "pan-y";
    canvas.addEventListener("focus", () => (canvas.style.touchAction = "none"));
    canvas.addEventListener("blur", () => (canvas.style.touchAction = "pan-y"));
    $("stage").addEventListener("wheel", (e) => document.activeElement !== canvas && e.stopPropagation(), { capture: true, passive: true });
    /** @type {{x: number, y: number, drag: any} | null} */
    let pressed = null;
    canvas.addEventListener("pointerdown", (e) => {
      const drag = e.button === 0 && this.under(...spot(e));
      pressed = { x: e.clientX, y: e.clientY, drag };
      this.scene.controls.enabled = !drag;
    }, { capture: true });
    canvas.addEventListener("pointermove", (e) => {
      if (!pressed?.drag) return;
      const h = this.hit(...spot(e));
      if (h && h.jaw === pressed.drag.userData.jaw) this.put(pressed.drag.userData.field, h.point);
    });
    canvas.addEventListener("pointerup", () => (this.scene.controls.enabled = true));
    canvas.addEventListener("click", (e) => {
      const far = !pressed || Math.hypot(e.clientX - pressed.x, e.clientY - pressed.y) > 5;
      canvas.focus({ preventScroll: true });
      if (pressed?.drag) return far && this.act("keep");
      if (!far) this.click(this.hit(...spot(e)));
    });
    canvas.addEventListener("keydown", (e) => {
      if (e.ctrlKey || e.metaKey || e.altKey) return;
      if (steer(this.scene, e)) return e.preventDefault();
      if (views[+e.key - 1] && +e.key <= this.looks.length) this.look(views[+e.key - 1]);
      else if (e.key === "Enter") this.click(this.hit(0, 0)); // what the cross is on
      else if (e.key === "Escape") this.close();
      else if (e.key === "Backspace" && this.drawing) this.unpoint();
      else return;
      e.preventDefault();
    });
  }

  click(/** @type {any} */ h) {
    if (this.drawing) {
      if (h?.jaw === this.drawing.jaw) this.drawing.points.push(h.point);
      return this.outline();
    }
    if (!h) return this.close();
    if (this.placing) {
      if (h.jaw !== this.placing.dataset.marker) return;
      const field = this.placing;
      this.place(null);
      this.put(field, h.point);
      return this.next(field) || this.act("keep");
    }
    this.pick(h);
  }

  // pick opens the panel of a tooth, or of a spot where none was found.
  pick(/** @type {{jaw: Jaw, tooth: Tooth | null, point: THREE.Vector3}} */ h) {
    if (this.head[h.jaw].given) return;
    this.picked = h;
    const { tooth } = h, { all, teeth } = this.head[h.jaw];
    $("picked").hidden = false;
    $("casts-how").hidden = true;
    $("picked-name").textContent = tooth ? this.say("serve.casts.tooth", { tooth: tooth.code, name: tooth.name, sure: tooth.sure }) : this.say("serve.casts.none");
    for (const e of $("picked").querySelectorAll("[data-tooth]")) /** @type {HTMLElement} */ (e).hidden = !tooth;
    for (const e of $("picked").querySelectorAll("[data-spot]")) /** @type {HTMLElement} */ (e).hidden = Boolean(tooth);
    const there = new Set(teeth.map((t) => t.code));
    const options = (/** @type {{code: string, name: string}[]} */ list) => list.map((t) => new Option(`${t.code} ${t.name}`, t.code));
    const number = /** @type {HTMLSelectElement} */ ($("picked-number"));
    number.replaceChildren(...options(tooth ? all : all.filter((t) => !there.has(t.code))));
    number.value = tooth ? tooth.code : this.likely(h) || number.value;
    const row = this.row(h.jaw), i = tooth ? row.indexOf(tooth.code) : -1;
    const neighbours = i < 0 ? [] : [row[i - 1], row[i + 1]].filter(Boolean);
    const second = /** @type {HTMLSelectElement} */ ($("picked-second"));
    second.replaceChildren(...options(all.filter((t) => !there.has(t.code))));
    if (tooth) second.value = this.free(h.jaw, tooth.code) || second.value;
    $("picked-part").hidden = !tooth || !second.options.length;
    $("picked-join").replaceChildren(...neighbours.map((code) => {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = this.say("serve.casts.join", { tooth: code });
      b.addEventListener("click", () => this.correct(`${[tooth?.code, code].join("+")}=${tooth?.code}`));
      return b;
    }));
    this.colour();
  }

  // row are the codes of an arch from right to left, those that were found.
  row(/** @type {Jaw} */ jaw) {
    const place = (/** @type {string} */ c) => (c[0] === "1" || c[0] === "4" ? -1 : 1) * +c[1];
    return this.head[jaw].teeth.map((t) => t.code).sort((a, b) => place(a) - place(b));
  }

  // free is a code beside a tooth that no other tooth has.
  free(/** @type {Jaw} */ jaw, /** @type {string} */ code) {
    const there = new Set(this.row(jaw));
    return [code[0] + (+code[1] + 1), code[0] + (+code[1] - 1)].find((c) => +c[1] >= 1 && +c[1] <= 8 && !there.has(c));
  }

  // likely is the code that a tooth at a spot may have: free and next to that of the nearest tooth.
  likely(/** @type {any} */ h) {
    const { positions, teeth, codes } = this.data[h.jaw], p = new THREE.Vector3(), away = new Map();
    teeth.forEach((/** @type {number} */ t, /** @type {number} */ i) => {
      if (t) away.set(t, Math.min(away.get(t) ?? Infinity, p.fromArray(positions, 3 * i).distanceTo(h.at)));
    });
    for (const [t] of [...away].sort((a, b) => a[1] - b[1]).slice(0, 2)) {
      const code = this.free(h.jaw, codes.find((/** @type {Tooth} */ c) => c.number === t).code);
      if (code) return code;
    }
    return undefined;
  }

  // draw begins the border of the tooth that is picked, or of the one that is chosen for a spot.
  draw() {
    if (!this.picked) return;
    const { jaw, tooth } = this.picked, code = tooth?.code || /** @type {HTMLSelectElement} */ ($("picked-number")).value;
    this.close();
    this.drawing = { jaw, code, points: [] };
    $("drawing").hidden = false;
    $("casts-how").hidden = $("codes").hidden = true; // codes would lie over the line
    $("drawing-name").textContent = this.say("serve.casts.draw.of", { tooth: code });
    this.outline();
    this.canvas.focus({ preventScroll: true });
  }

  unpoint() {
    this.drawing?.points.pop();
    this.outline();
  }

  // outline shows the line that is being drawn, over all that lies before it.
  outline() {
    for (const m of this.line) m.removeFromParent();
    this.line = [];
    const points = this.drawing?.points || [];
    for (const e of $("drawing").querySelectorAll("button[data-least]")) {
      const b = /** @type {HTMLButtonElement} */ (e);
      b.disabled = points.length < Number(b.dataset.least);
    }
    if (this.drawing) {
      const { jaw } = this.drawing, at = points.map((p) => p.clone().applyMatrix4(this.data[jaw].to));
      const paint = { color: 0x7a1f3d, depthTest: false, transparent: true };
      this.line = at.map((p) => {
        const m = new THREE.Mesh(new THREE.SphereGeometry(0.3, 12, 8), new THREE.MeshBasicMaterial(paint));
        m.position.copy(p);
        return m;
      });
      if (at.length > 1) this.line.push(new THREE.Line(new THREE.BufferGeometry().setFromPoints(at), new THREE.LineBasicMaterial(paint)));
      for (const m of this.line) {
        m.renderOrder = 9;
        this.scene[jaw].mesh.add(m);
      }
    }
    this.beside();
  }

  // finish sends the border that was drawn, all around the tooth or between its ends.
  finish(/** @type {boolean} */ around) {
    if (!this.drawing) return;
    const { jaw, code, points } = this.drawing;
    const line = (around ? [...points, points[0]] : points).map((p) => "/" + comma(p)).join("");
    this.act(`correct ${jaw} ${code}=border${line}`);
  }

  close() {
    this.picked = this.drawing = null;
    $("picked").hidden = $("drawing").hidden = true;
    this.outline();
    $("casts-how").hidden = $("codes").hidden = false;
    this.colour();
  }

  // correct asks for a correction, in the form in which the command takes it.
  correct(/** @type {string} */ what) {
    if (this.picked) this.act(`correct ${this.picked.jaw} ${what}`);
  }

  panel() {
    const chosenOf = (/** @type {string} */ id) => /** @type {HTMLSelectElement} */ ($(id)).value;
    const at = () => this.picked && comma(this.picked.point);
    const does = {
      number: () => this.correct(`${chosenOf("picked-number")}=${at()}`),
      onwards: () => this.correct(`${this.picked?.tooth?.code}..=${chosenOf("picked-number")}..`),
      none: () => this.correct(`0=${at()}`),
      part: () => this.correct(`${this.picked?.tooth?.code}=${this.picked?.tooth?.code}+${chosenOf("picked-second")}`),
      draw: () => this.draw(),
      back: () => this.unpoint(),
      between: () => this.finish(false),
      around: () => this.finish(true),
      close: () => this.close(),
    };
    for (const e of $("side").querySelectorAll("button[data-does]")) {
      const b = /** @type {HTMLButtonElement} */ (e);
      b.addEventListener("click", () => does[/** @type {keyof typeof does} */ (b.dataset.does)]());
    }
    // What is in doubt is shown, and teeth are chosen from the lists too.
    document.addEventListener("click", (e) => {
      const b = e.target instanceof Element && /** @type {HTMLElement | null} */ (e.target.closest("[data-show]"));
      if (!b) return;
      const [jaw, xyz] = /** @type {string} */ (b.dataset.show).split(" ");
      this.show(/** @type {Jaw} */ (jaw), xyz.split(",").map(Number));
    });
  }

  // show brings a point of a scan into the middle.
  show(/** @type {Jaw} */ jaw, /** @type {number[]} */ xyz) {
    this.look(/** @type {any} */ (views.find((v) => v.only === jaw)));
    const at = new THREE.Vector3(...xyz).applyMatrix4(this.data[jaw].to);
    this.scene.at(at.clone().applyMatrix4(this.scene[jaw].mesh.matrix).toArray());
    $("casts").scrollIntoView({ block: "nearest" });
    this.canvas.focus({ preventScroll: true });
  }

  // fields are those of points on the casts: they are shown as spheres, which can be dragged.
  fields() {
    document.addEventListener("input", (e) => e.target instanceof HTMLInputElement && e.target.dataset.marker && this.mark());
    document.addEventListener("click", (e) => {
      const b = e.target instanceof Element && /** @type {HTMLElement | null} */ (e.target.closest("[data-place]"));
      if (b) this.place(/** @type {HTMLInputElement | null} */ (document.querySelector(`input[name="${b.dataset.place}"]`)));
    });
  }

  // place waits for a click that puts the point of a field; null waits for none.
  place(/** @type {HTMLInputElement | null} */ field) {
    this.placing = field;
    $("placing").hidden = !field;
    if (!field) return;
    this.close();
    $("placing").textContent = field.dataset.how || "";
    this.look(/** @type {any} */ (views.find((v) => v.only === field.dataset.marker)));
    $("casts").scrollIntoView({ block: "nearest" });
    this.canvas.focus({ preventScroll: true });
  }

  // next goes on to the field that is to be filled after another; whether there is one.
  next(/** @type {HTMLInputElement} */ field) {
    const after = /** @type {HTMLInputElement | null} */ (field.dataset.next ? document.querySelector(`input[name="${field.dataset.next}"]`) : null);
    if (!after || after.value) return false;
    this.place(after);
    return true;
  }

  put(/** @type {HTMLInputElement} */ field, /** @type {THREE.Vector3} */ p) {
    field.value = p.toArray().map((v) => v.toFixed(2)).join(", ");
    this.mark();
  }

  // mark draws a sphere at each point that is given.
  mark() {
    for (const m of this.markers) m.removeFromParent();
    this.markers = [];
    for (const e of document.querySelectorAll("input[data-marker]")) {
      const field = /** @type {HTMLInputElement} */ (e), jaw = /** @type {Jaw} */ (field.dataset.marker);
      const xyz = field.value.trim().split(/[\s,;]+/).map(Number);
      if (xyz.length !== 3 || xyz.some((v) => !Number.isFinite(v)) || !this.scene[jaw]) continue;
      const m = new THREE.Mesh(new THREE.SphereGeometry(1, 20, 14), new THREE.MeshBasicMaterial({ color: 0x7a1f3d }));
      m.position.set(xyz[0], xyz[1], xyz[2]).applyMatrix4(this.data[jaw].to);
      m.userData = { field, jaw };
      m.layers.set(0);
      this.scene[jaw].mesh.add(m);
      this.markers.push(m);
    }
    this.beside();
  }

  // beside says what is drawn in colours that are no numbers of teeth.
  beside() {
    this.scene.aside = [...this.scene.section.caps, ...this.scene.section.outlines, ...this.markers, ...this.line];
    this.scene.draw();
  }

  // under is the sphere under a spot.
  under(/** @type {number} */ x, /** @type {number} */ y) {
    const ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2(x, y), this.scene.camera);
    const of = this.markers.filter((m) => m.parent?.visible);
    of.forEach((m) => m.updateWorldMatrix(true, false));
    return ray.intersectObjects(of, false)[0]?.object || null;
  }
}

/**
 * start shows the casts where the page has a place for them; act sends what is done.
 * @param {(what: string) => void} act
 * @returns {Promise<Casts | null>}
 */
export async function start(act) {
  const data = await load();
  if (!data) return null;
  $("casts").hidden = false;
  const casts = new Casts(data, act);
  Object.assign(window, { cusptraceCasts: casts }); // for tests and for the curious
  return casts;
}

/**
 * watch shows the casts while something is done with them: what it gives moves the lower one, and shows what the
 * server holds now.
 * @returns {Promise<{move: (at: number[]) => void, reload: () => Promise<void>} | null>}
 */
export async function watch() {
  const data = await load();
  if (!data) return null;
  $("moving").hidden = false;
  const canvas = /** @type {HTMLCanvasElement} */ ($("canvas"));
  const scene = /** @type {any} */ (new Scene(canvas, data));
  const codes = new Codes(scene, canvas);
  const show = (/** @type {any} */ data) => {
    for (const jaw of jaws) scene[jaw].tint((/** @type {number} */ t) => (t ? { rgb: colourOf(t) } : null));
    if (data.head.finding) codes.take(data.head); // while they move they would only flicker
    const only = jaws.find((jaw) => jaws.every((other) => other === jaw || !data.head[other].vertices)); // of the other nothing is seen yet
    const name = only || (data.head.finding ? "both" : "front");
    for (const jaw of jaws) scene[jaw].fade(only && jaw !== only ? "hide" : "show");
    scene.look(/** @type {any} */ (views.find((v) => v.name === name)));
  };
  scene.resize();
  show(data);
  return {
    move(at) {
      scene.moved.set(...at);
      scene.place();
      scene.draw();
    },
    async reload() {
      const data = await load();
      if (!data) return;
      scene.take(data);
      show(data);
    },
  };
}
