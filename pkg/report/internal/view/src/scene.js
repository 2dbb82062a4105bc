// The scene: both arches, camera, light; what moves the lower arch.
import * as THREE from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { Cast } from "./cast.js";
import { Section } from "./section.js";

// The views: where they look from, which arch alone, which half. In that of both occlusal
// surfaces the lower arch lies beside the upper one, turned over like a page.
export const views = [
  { name: "both", toward: [0, -0.02, -1], book: true },
  { name: "right", toward: [-1, -0.25, 0.05] },
  { name: "front", toward: [0, -1, 0.05] },
  { name: "left", toward: [1, -0.25, 0.05] },
  { name: "upper", toward: [0, -0.02, -1], only: "upper" },
  { name: "lower", toward: [0, -0.02, 1], only: "lower" },
  { name: "right_lingual", toward: [0.9, 0.35, 0.05], half: -1 },
  { name: "left_lingual", toward: [-0.9, 0.35, 0.05], half: 1 },
];

const SLOW = 3; // pictures that come late until fewer pixels are drawn

export class Scene {
  constructor(canvas, data) {
    const { facts } = data;
    this.facts = facts;
    facts.stops = facts.colours.map(rgb);
    facts.toothRGB = rgb(facts.tooth);
    facts.gumRGB = rgb(facts.gum);
    facts.overlapRGB = rgb(facts.overlap);
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(22, 1, 1, 2000);
    this.camera.up.set(0, 0, 1);
    this.settling = matrix(facts.settling);
    this.moved = matrix(facts.closed.pose).multiply(this.settling);
    this.take(data);
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.addEventListener("change", () => this.draw());
    this.slow = 0; // pictures that came late while the casts were turned
    this.controls.addEventListener("start", () => (this.turning = true));
    this.controls.addEventListener("end", () => {
      this.turning = false;
      if (this.slow < SLOW) return;
      this.slow = 0;
      this.resize();
    });
    this.pending = false;
    this.after = () => {};
  }

  // take shows the surfaces of data, in the place of those that were shown.
  take(data) {
    for (const cast of [this.upper, this.lower]) cast?.dispose();
    this.scene.clear();
    this.upper = new Cast(data.upper, this.facts);
    this.lower = new Cast(data.lower, this.facts);
    this.scene.add(this.upper.mesh, this.lower.mesh);
    for (const { mesh } of [this.upper, this.lower]) mesh.geometry.computeBoundingBox();
    this.box = boxOf(this.upper.mesh).union(boxOf(this.lower.mesh));
    this.section = new Section(this.scene, [this.upper, this.lower]);
    this.aside = [...this.section.caps, ...this.section.outlines]; // drawn in colours that are no numbers of teeth
  }

  // pose moves the lower arch: settled, opened on the hinge by degrees more, then
  // moved as the frame says.
  pose(m, degrees) {
    const open = new THREE.Matrix4().makeRotationX((degrees * Math.PI) / 180);
    this.moved = matrix(m).multiply(open).multiply(this.settling);
    this.place();
  }

  // place puts the lower arch where it has moved to, or turned over beside the upper one,
  // as it is closed.
  place() {
    const { matrix: at } = this.lower.mesh;
    if (!this.book) at.copy(this.moved);
    else {
      const closed = matrix(this.facts.closed.pose).multiply(this.settling);
      const upper = boxOf(this.upper.mesh), lower = this.lower.mesh.geometry.boundingBox.clone().applyMatrix4(closed);
      const gap = 6; // mm between the arches
      const wide = this.camera.aspect > 1.1;
      const x = wide ? upper.max.x - lower.min.x + gap : 0;
      const y = wide ? (upper.min.y + upper.max.y + lower.min.y + lower.max.y) / 2 : upper.max.y + lower.max.y + gap;
      at.makeRotationX(Math.PI).setPosition(x, y, upper.min.z + lower.max.z).multiply(closed);
    }
    this.lower.mesh.matrixWorldNeedsUpdate = true;
    this.cutAgain = true;
  }

  // look turns the camera to a standard view.
  look(view) {
    this.book = Boolean(view.book);
    this.place();
    this.half = view.half || 0;
    this.clip();
    this.fit(new THREE.Vector3(...view.toward).normalize());
  }

  // fit brings all that is shown into the picture, seen from a direction.
  fit(d) {
    const box = new THREE.Box3();
    for (const { mesh } of [this.upper, this.lower]) if (mesh.visible) box.union(boxOf(mesh));
    if (box.isEmpty()) box.copy(this.box);
    if (this.half < 0) box.max.x = Math.min(box.max.x, 1);
    if (this.half > 0) box.min.x = Math.max(box.min.x, -1);
    const c = box.getCenter(new THREE.Vector3());
    const right = new THREE.Vector3().crossVectors(this.camera.up, d).normalize(), up = new THREE.Vector3().crossVectors(d, right);
    const high = Math.tan((this.camera.fov * Math.PI) / 360), wide = high * this.camera.aspect;
    let away = 0;
    for (let k = 0; k < 8; k++) {
      const p = new THREE.Vector3(k & 1 ? box.min.x : box.max.x, k & 2 ? box.min.y : box.max.y, k & 4 ? box.min.z : box.max.z).sub(c);
      away = Math.max(away, p.dot(d) + 1.06 * Math.max(Math.abs(p.dot(right)) / wide, Math.abs(p.dot(up)) / high));
    }
    this.controls.target.copy(c);
    this.camera.position.copy(c).addScaledVector(d, away);
    // No nearer than a cusp, no farther than where the casts are still seen.
    this.controls.minDistance = 12;
    this.controls.maxDistance = 2.5 * away;
    this.controls.update();
    this.draw();
  }

  // direction is where the camera looks from.
  get direction() {
    return this.camera.position.clone().sub(this.controls.target).normalize();
  }

  // at brings a point into the middle without changing the direction.
  at(point) {
    const to = new THREE.Vector3(...point).sub(this.controls.target);
    this.controls.target.add(to);
    this.camera.position.add(to);
    const d = this.camera.position.clone().sub(this.controls.target);
    this.camera.position.copy(this.controls.target).addScaledVector(d, Math.min(1, 75 / d.length()));
    this.controls.update();
  }

  cut(kind, share) {
    this.kind = kind;
    this.share = share;
    this.clip();
  }

  clip() {
    const planes = [];
    if (this.half) planes.push(new THREE.Plane(new THREE.Vector3(this.half, 0, 0), 1));
    const axis = { sagittal: "x", frontal: "y", horizontal: "z" }[this.kind];
    if (axis) {
      const normal = new THREE.Vector3();
      normal[axis] = axis === "y" ? 1 : -1;
      const at = this.box.min[axis] + this.share * (this.box.max[axis] - this.box.min[axis]);
      planes.push(new THREE.Plane(normal, -normal[axis] * at));
    }
    this.renderer.clippingPlanes = planes;
    this.plane = axis ? planes.at(-1) : null;
    this.cutAgain = true;
  }

  resize() {
    const c = this.renderer.domElement;
    const w = c.clientWidth, h = c.clientHeight;
    if (!w || !h) return;
    this.renderer.setPixelRatio((this.slow < SLOW ? 1 : 0.5) * Math.min(2, window.devicePixelRatio || 1));
    this.renderer.setSize(w, h, false);
    this.camera.aspect = w / h;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.pending) return;
    this.pending = true;
    const asked = performance.now();
    requestAnimationFrame(() => {
      this.pending = false;
      // A machine that cannot keep up while the casts are turned draws fewer pixels.
      if (this.turning && performance.now() - asked > 50 && ++this.slow === SLOW) return this.resize();
      this.now();
    });
  }

  now() {
    if (this.cutAgain) this.section.show(this.plane);
    this.cutAgain = false;
    this.renderer.render(this.scene, this.camera);
    this.after();
  }

  // seenTeeth is where each tooth is seen, by its number: a spot of the picture in shares
  // of its width and height that lies on the tooth, nearest to the middle of what is seen
  // of it that lies off its marks. Slivers count for nothing.
  seenTeeth(marked = new Map()) {
    const c = this.renderer.domElement;
    const w = Math.max(1, Math.min(480, c.clientWidth)), h = Math.max(1, Math.round((w * c.clientHeight) / c.clientWidth));
    if (!this.target || this.target.width !== w || this.target.height !== h) {
      this.target?.dispose();
      this.target = new THREE.WebGLRenderTarget(w, h);
      this.pixels = new Uint8Array(4 * w * h);
    }
    const casts = [this.upper, this.lower];
    casts.forEach((x) => x.numbered(true));
    this.aside.forEach((x) => x.layers.set(1));
    this.renderer.setRenderTarget(this.target);
    this.renderer.clear();
    this.renderer.render(this.scene, this.camera);
    this.renderer.readRenderTargetPixels(this.target, 0, 0, w, h, this.pixels);
    this.renderer.setRenderTarget(null);
    casts.forEach((x) => x.numbered(false));
    this.aside.forEach((x) => x.layers.set(0));
    const sums = new Map();
    const each = (visit) => {
      // Off the border of what is seen: all neighbours show the same tooth.
      for (let y = 1; y < h - 1; y++)
        for (let x = 1; x < w - 1; x++) {
          const at = 4 * (y * w + x), tooth = this.pixels[at];
          const same = (d) => this.pixels[at + d] === tooth;
          if (tooth && same(4) && same(-4) && same(4 * w) && same(-4 * w)) visit(tooth, x, y);
        }
    };
    each((tooth, x, y) => {
      const s = sums.get(tooth) || { n: 0, x: 0, y: 0, far: Infinity };
      s.n++;
      s.x += x;
      s.y += y;
      sums.set(tooth, s);
    });
    each((tooth, x, y) => {
      const s = sums.get(tooth), on = marked.get(tooth) || [];
      const off = Math.min(1, ...on.map(([u, v]) => Math.hypot(u - (x + 0.5) / w, ((v - 1 + (y + 0.5) / h) * h) / w) / 0.018));
      const far = Math.hypot(x - s.x / s.n, y - s.y / s.n) + (1 - off) * 0.06 * w;
      if (far < s.far) Object.assign(s, { far, at: [(x + 0.5) / w, 1 - (y + 0.5) / h] });
    });
    const least = (w * h) / 2500;
    return new Map([...sums].filter(([, s]) => s.n >= least).map(([tooth, s]) => [tooth, s.at]));
  }

  // pick is what lies under a spot of the picture, each from -1 to 1.
  pick(x, y) {
    const ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2(x, y), this.camera);
    const casts = [this.upper, this.lower].filter((c) => c.mesh.visible);
    for (const hit of ray.intersectObjects([...casts.map((c) => c.mesh), ...this.section.caps.filter((c) => c.visible)], false)) {
      if (this.renderer.clippingPlanes.some((p) => p.distanceToPoint(hit.point) < 0)) continue;
      if (this.section.caps.includes(hit.object)) return { point: hit.point };
      const cast = hit.object === this.upper.mesh ? this.upper : this.lower;
      const vertex = [hit.face.a, hit.face.b, hit.face.c].sort((a, b) => distance(cast, a, hit) - distance(cast, b, hit))[0];
      return { cast, vertex, point: hit.point };
    }
    return null;
  }
}

// boxOf bounds an arch where it stands.
function boxOf(mesh) {
  return mesh.geometry.boundingBox.clone().applyMatrix4(mesh.matrix);
}

function distance(cast, v, hit) {
  return new THREE.Vector3().fromBufferAttribute(cast.mesh.geometry.attributes.position, v).applyMatrix4(cast.mesh.matrix).distanceTo(hit.point);
}

// matrix reads 16 numbers, row by row.
export function matrix(m) {
  return new THREE.Matrix4().set(...m);
}

export function rgb(hex) {
  return [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
}
