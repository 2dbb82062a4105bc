// The scene: both arches, camera, light; what moves the lower arch.
import * as THREE from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { Cast } from "./cast.js";

export const views = [
  { name: "right", toward: [-1, -0.25, 0.05] },
  { name: "front", toward: [0, -1, 0.05] },
  { name: "left", toward: [1, -0.25, 0.05] },
  { name: "upper", toward: [0, -0.02, -1], only: "upper" },
  { name: "lower", toward: [0, -0.02, 1], only: "lower" },
  { name: "right_lingual", toward: [0.9, 0.35, 0.05], half: -1 },
  { name: "left_lingual", toward: [-0.9, 0.35, 0.05], half: 1 },
];

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
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0xb8aca0, 1.4));
    const key = new THREE.DirectionalLight(0xffffff, 2.0);
    key.position.set(-0.4, 0.6, 1);
    this.camera.add(key);
    this.scene.add(this.camera);
    this.upper = new Cast(data.upper, facts);
    this.lower = new Cast(data.lower, facts);
    this.scene.add(this.upper.mesh, this.lower.mesh);
    this.box = new THREE.Box3().setFromObject(this.upper.mesh).union(new THREE.Box3().setFromObject(this.lower.mesh));
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.addEventListener("change", () => this.draw());
    this.settling = matrix(facts.settling);
    this.section = new THREE.Plane(new THREE.Vector3(1, 0, 0), 0);
    this.pending = false;
    this.after = () => {};
  }

  // pose moves the lower arch: settled, opened on the hinge by degrees more, then
  // moved as the frame says.
  pose(m, degrees) {
    const open = new THREE.Matrix4().makeRotationX((degrees * Math.PI) / 180);
    this.lower.mesh.matrix.copy(matrix(m)).multiply(open).multiply(this.settling);
    this.lower.mesh.matrixWorldNeedsUpdate = true;
  }

  // look turns the camera to a standard view.
  look(view) {
    const d = new THREE.Vector3(...view.toward).normalize();
    const c = this.box.getCenter(new THREE.Vector3());
    const size = this.box.getSize(new THREE.Vector3());
    const flat = Math.abs(d.z) > 0.9;
    const wide = flat || Math.abs(d.y) > 0.7 ? size.x : size.y;
    const high = flat ? size.y : size.z;
    const tan = Math.tan((this.camera.fov * Math.PI) / 360);
    const away = 1.08 * Math.max(high / 2 / tan, wide / 2 / tan / this.camera.aspect) + (flat ? size.z : size.x) / 2;
    this.controls.target.copy(c);
    this.camera.position.copy(c).addScaledVector(d, away);
    this.half = view.half || 0;
    this.clip();
    // No nearer than a cusp, no farther than where the casts are still seen.
    this.controls.minDistance = 12;
    this.controls.maxDistance = 2.5 * away;
    this.controls.update();
    this.draw();
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
  }

  resize() {
    const c = this.renderer.domElement;
    const w = c.clientWidth, h = c.clientHeight;
    if (!w || !h) return;
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    this.renderer.setSize(w, h, false);
    this.camera.aspect = w / h;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      this.now();
    });
  }

  now() {
    this.renderer.render(this.scene, this.camera);
    this.after();
  }

  // seenTeeth is where each tooth is seen, by its number: a spot of the picture in shares
  // of its width and height that lies on the tooth, nearest to the middle of what is seen
  // of it. Slivers count for nothing.
  seenTeeth() {
    const c = this.renderer.domElement;
    const w = Math.max(1, Math.min(480, c.clientWidth)), h = Math.max(1, Math.round((w * c.clientHeight) / c.clientWidth));
    if (!this.target || this.target.width !== w || this.target.height !== h) {
      this.target?.dispose();
      this.target = new THREE.WebGLRenderTarget(w, h);
      this.pixels = new Uint8Array(4 * w * h);
    }
    const casts = [this.upper, this.lower];
    casts.forEach((x) => x.numbered(true));
    this.renderer.setRenderTarget(this.target);
    this.renderer.clear();
    this.renderer.render(this.scene, this.camera);
    this.renderer.readRenderTargetPixels(this.target, 0, 0, w, h, this.pixels);
    this.renderer.setRenderTarget(null);
    casts.forEach((x) => x.numbered(false));
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
      const s = sums.get(tooth), far = Math.hypot(x - s.x / s.n, y - s.y / s.n);
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
    for (const hit of ray.intersectObjects(casts.map((c) => c.mesh), false)) {
      if (this.renderer.clippingPlanes.some((p) => p.distanceToPoint(hit.point) < 0)) continue;
      const cast = hit.object === this.upper.mesh ? this.upper : this.lower;
      const vertex = [hit.face.a, hit.face.b, hit.face.c].sort((a, b) => distance(cast, a, hit) - distance(cast, b, hit))[0];
      return { cast, vertex, point: hit.point };
    }
    return null;
  }
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
