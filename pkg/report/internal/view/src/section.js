// A section: where a plane cuts the arches, as an outline, with the cut filled.
import * as THREE from "three";

const WIDE = 0.14; // mm, of the outline

// cutLines are the lines along which a plane cuts a surface: lists of points, closed
// where the first is the last too. at takes the surface to where it stands.
export function cutLines(positions, corners, at, plane) {
  const n = positions.length / 3, p = new THREE.Vector3();
  const off = new Float32Array(n);
  for (let i = 0; i < n; i++) off[i] = plane.distanceToPoint(p.fromArray(positions, 3 * i).applyMatrix4(at));
  // Each cut edge is a point, each cut triangle joins two.
  const ends = new Map();
  const join = (a, b) => ends.set(a, [...(ends.get(a) || []), b]);
  for (let t = 0; t < corners.length; t += 3) {
    const cut = [];
    for (let k = 0; k < 3; k++) {
      const a = corners[t + k], b = corners[t + ((k + 1) % 3)];
      if (off[a] >= 0 !== off[b] >= 0) cut.push(Math.min(a, b) * n + Math.max(a, b));
    }
    if (cut.length === 2) {
      join(cut[0], cut[1]);
      join(cut[1], cut[0]);
    }
  }
  const point = (key) => {
    const a = Math.floor(key / n), b = key % n, t = off[a] / (off[a] - off[b]);
    return new THREE.Vector3().fromArray(positions, 3 * a).lerp(p.fromArray(positions, 3 * b), t).applyMatrix4(at);
  };
  const lines = [], done = new Set();
  const walk = (key) => {
    const line = [];
    for (let next = key; next !== undefined; next = ends.get(next).find((x) => !done.has(x))) {
      done.add(next);
      line.push(next);
    }
    const closed = line.length > 2 && ends.get(line.at(-1)).includes(line[0]);
    lines.push((closed ? [...line, line[0]] : line).map(point));
  };
  for (const [key, list] of ends) if (list.length === 1 && !done.has(key)) walk(key); // open ones from an end
  for (const key of ends.keys()) if (!done.has(key)) walk(key);
  return lines.filter((l) => l.length > 1);
}

// closedLoops joins open lines at their nearest ends, as the border of a scan is cut, until
// all are closed.
export function closedLoops(lines) {
  const loops = [], open = [];
  for (const l of lines) (l[0].equals(l.at(-1)) ? loops : open).push([...l]);
  while (open.length) {
    let l = open.pop();
    for (;;) {
      let best = -1, turn = false, away = l.at(-1).distanceTo(l[0]);
      open.forEach((o, k) => {
        for (const end of [0, 1]) {
          const d = l.at(-1).distanceTo(end ? o.at(-1) : o[0]);
          if (d < away) [best, turn, away] = [k, Boolean(end), d];
        }
      });
      if (best < 0) break;
      const [o] = open.splice(best, 1);
      l = l.concat(turn ? o.reverse() : o);
    }
    loops.push([...l, l[0]]);
  }
  return loops;
}

// Section is what is drawn of the cuts of both arches.
export class Section {
  constructor(scene, casts) {
    this.casts = casts;
    const flat = (color) => new THREE.MeshBasicMaterial({ color, side: THREE.DoubleSide });
    this.caps = [0xd8c7a8, 0xaebccb].map((c) => new THREE.Mesh(new THREE.BufferGeometry(), flat(c)));
    this.outlines = casts.map(() => new THREE.Mesh(new THREE.BufferGeometry(), flat(0x1d2b36)));
    scene.add(...this.caps, ...this.outlines);
  }

  // show cuts along a plane, or nowhere.
  show(plane) {
    this.lines = [];
    this.casts.forEach((cast, k) => {
      const shown = plane && cast.mesh.visible;
      this.caps[k].visible = this.outlines[k].visible = Boolean(shown);
      if (!shown) return;
      const lines = cutLines(cast.data.positions, cast.data.corners, cast.mesh.matrix, plane);
      this.lines.push(lines);
      replace(this.caps[k], cap(closedLoops(lines), plane));
      replace(this.outlines[k], ribbon(lines, plane));
    });
  }
}

function replace(mesh, places) {
  mesh.geometry.dispose();
  mesh.geometry = new THREE.BufferGeometry();
  mesh.geometry.setAttribute("position", new THREE.Float32BufferAttribute(places, 3));
}

// cap is the triangles of what loops enclose, a loop within another being a hole.
function cap(loops, plane) {
  const { normal } = plane;
  const u = new THREE.Vector3(normal.z, normal.x, normal.y).cross(normal).normalize(), v = new THREE.Vector3().crossVectors(normal, u);
  const flat = loops.map((l) => l.slice(0, -1).map((p) => new THREE.Vector2(p.dot(u), p.dot(v))));
  const inside = (p, l) => l.reduce((in_, a, i) => {
    const b = l[(i + 1) % l.length];
    return a.y > p.y !== b.y > p.y && p.x < a.x + ((p.y - a.y) / (b.y - a.y)) * (b.x - a.x) ? !in_ : in_;
  }, false);
  const round = flat.map((l, i) => flat.map((_, k) => k).filter((k) => k !== i && inside(l[0], flat[k])));
  const places = [];
  flat.forEach((l, i) => {
    if (l.length < 3 || round[i].length % 2) return;
    const holes = flat.filter((h, k) => h.length > 2 && round[k].length === round[i].length + 1 && round[k].includes(i));
    const all = [l, ...holes].flat();
    // A little on the side that is kept, or the plane would cut it too.
    for (const t of THREE.ShapeUtils.triangulateShape(l, holes))
      for (const c of t) places.push(...u.clone().multiplyScalar(all[c].x).addScaledVector(v, all[c].y).addScaledVector(normal, 0.02 - plane.constant));
  });
  return places;
}

// ribbon draws lines as strips in the plane.
function ribbon(lines, plane) {
  const places = [], along = new THREE.Vector3(), off = new THREE.Vector3();
  for (const l of lines)
    for (let i = 1; i < l.length; i++) {
      along.copy(l[i]).sub(l[i - 1]);
      if (along.lengthSq() < 1e-12) continue;
      off.crossVectors(along, plane.normal).setLength(WIDE / 2);
      along.setLength(WIDE / 4);
      const corner = (p, side, way) => p.clone().addScaledVector(off, side).addScaledVector(along, way).addScaledVector(plane.normal, 0.04).toArray();
      const [a, b, c, d] = [corner(l[i - 1], -1, -1), corner(l[i - 1], 1, -1), corner(l[i], 1, 1), corner(l[i], -1, 1)];
      places.push(...a, ...b, ...c, ...a, ...c, ...d);
    }
  return places;
}
