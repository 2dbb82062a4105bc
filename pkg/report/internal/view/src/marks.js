// The marks of contacts on an arch, as articulating paper leaves them: coloured fields
// that lie on the surface itself. They are made of the triangles of the surface round
// each contact, sorted by the station of the movement, so that marks up to a station, or
// those of it alone, are a range of what is drawn.
import * as THREE from "three";
import { lit } from "./light.js";

const CELL = 1; // mm, of the grid in which vertices are found

const SECTORS = 16, ACROSS = 64; // directions of an outline, outlines in a row of their texture
const LEAST = 0.38; // mm, the mean reach below which a mark would not be seen

const look = `
  // The outline of the contact: its reach in the direction of this spot.
  float turn = mod(atan(vLocal.y, vLocal.x) / 6.28318531 * ${SECTORS}.0, ${SECTORS}.0);
  int mark = int(vInfo.w + 0.5), sector = int(turn) % ${SECTORS};
  ivec2 first = ivec2(mark % ${ACROSS} * ${SECTORS}, mark / ${ACROSS});
  float reach = mix(texelFetch(reaches, first + ivec2(sector, 0), 0).r, texelFetch(reaches, first + ivec2((sector + 1) % ${SECTORS}, 0), 0).r, fract(turn));
  float far = length(vLocal.xy) / reach;
  if (far > 1.0 || abs(vLocal.z) > 1.6 * vInfo.z) discard;
  // The thin foil leaves a full field with a light rim, the thick one a light field with
  // a full rim, which shows round it as a halo. A cross tells the pair that guides.
  bool rim = far > (1.0 - 0.15 / max(0.4, reach));
  bool full = vInfo.x > 0.5 ? !rim : rim;
  if (vInfo.x > 1.5 && vInfo.y == moment && min(abs(vLocal.x), abs(vLocal.y)) < 0.07) full = false;
  diffuseColor.rgb = full ? vec3(0.46, 0.0, 0.055) : vec3(1.0, 0.86, 0.86);`;

export class Marks {
  constructor(geometry, corners) {
    this.places = geometry.attributes.position.array;
    this.normals = geometry.attributes.normal.array;
    this.corners = corners;
    this.moment = { value: 0 };
    this.reaches = { value: null };
    this.layers = [-1.5, -3].map((offset) => this.layer(offset)); // thick below thin
    this.list = [];
  }

  layer(offset) {
    const material = new THREE.MeshLambertMaterial({ side: THREE.DoubleSide, polygonOffset: true, polygonOffsetFactor: offset, polygonOffsetUnits: 2 * offset });
    material.onBeforeCompile = (shader) => {
      shader.uniforms.moment = this.moment;
      shader.uniforms.reaches = this.reaches;
      shader.vertexShader = shader.vertexShader
        .replace("#include <common>", "#include <common>\nattribute vec3 local;\nattribute vec4 info;\nvarying vec3 vLocal;\nvarying vec4 vInfo;")
        .replace("#include <begin_vertex>", "#include <begin_vertex>\nvLocal = local;\nvInfo = info;");
      shader.fragmentShader = shader.fragmentShader
        .replace("#include <common>", "#include <common>\nvarying vec3 vLocal;\nvarying vec4 vInfo;\nuniform float moment;\nuniform highp sampler2D reaches;")
        .replace("#include <color_fragment>", `#include <color_fragment>${look}`);
      lit(shader);
    };
    const mesh = new THREE.Mesh(new THREE.BufferGeometry(), material);
    mesh.matrixAutoUpdate = false;
    mesh.frustumCulled = false;
    return mesh;
  }

  // grid lists the triangles by the cells of their corners, made when first asked for.
  get grid() {
    if (this.cells) return this.cells;
    this.cells = new Map();
    for (let t = 0; t < this.corners.length; t += 3) {
      const seen = new Set();
      for (let k = 0; k < 3; k++) {
        const v = 3 * this.corners[t + k];
        const key = cell(Math.floor(this.places[v] / CELL), Math.floor(this.places[v + 1] / CELL), Math.floor(this.places[v + 2] / CELL));
        if (seen.has(key)) continue;
        seen.add(key);
        const list = this.cells.get(key);
        if (list) list.push(t);
        else this.cells.set(key, [t]);
      }
    }
    return this.cells;
  }

  // near lists the triangles with a corner in the cells within reach of a point.
  near(p, reach) {
    const found = new Set();
    const lo = p.toArray().map((v) => Math.floor((v - reach) / CELL)), hi = p.toArray().map((v) => Math.floor((v + reach) / CELL));
    for (let x = lo[0]; x <= hi[0]; x++)
      for (let y = lo[1]; y <= hi[1]; y++)
        for (let z = lo[2]; z <= hi[2]; z++) for (const t of this.grid.get(cell(x, y, z)) || []) found.add(t);
    return found;
  }

  // set makes the marks of a list in rising order of stations: where (in the frame of
  // the arch), along which normal, how far they reach in each direction (mm), the first of
  // which is along, of which foil and station.
  set(list) {
    const out = this.layers.map(() => ({ place: [], normal: [], local: [], info: [] }));
    this.list = list;
    this.ends = this.layers.map(() => []); // corners up to each station
    const p = new THREE.Vector3(), n = new THREE.Vector3(), u = new THREE.Vector3(), v = new THREE.Vector3();
    const q = new THREE.Vector3(), at = new THREE.Vector3(), best = new THREE.Vector3();
    const triangle = new THREE.Triangle();
    const corner = (i, to) => to.fromArray(this.places, 3 * this.corners[i]);
    const reaches = new Float32Array(ACROSS * SECTORS * Math.max(1, Math.ceil(list.length / ACROSS)));
    list.forEach((m, number) => {
      const mean = Math.max(0.01, m.reach.reduce((a, b) => a + b) / SECTORS);
      // One that would not be seen is drawn larger and half way to a circle.
      m.reach.forEach((r, k) => (reaches[number * SECTORS + k] = mean < LEAST ? (LEAST * (1 + r / mean)) / 2 : Math.max(0.02, r)));
      m.radius = Math.max(...reaches.subarray(number * SECTORS, (number + 1) * SECTORS));
      p.fromArray(m.at);
      let away = Infinity;
      for (let reach = 1; away > reach && reach <= 8; reach *= 2) {
        for (const t of this.near(p, reach)) {
          triangle.set(corner(t, triangle.a), corner(t + 1, triangle.b), corner(t + 2, triangle.c));
          triangle.closestPointToPoint(p, q);
          if (q.distanceTo(p) < away) {
            away = q.distanceTo(p);
            best.copy(q);
          }
        }
      }
      m.away = away; // of the surface as it is drawn
      m.drawn = 0;
      if (away === Infinity) return;
      n.fromArray(m.normal).normalize();
      u.fromArray(m.along);
      v.crossVectors(n, u);
      const layer = out[m.kind ? 1 : 0];
      for (const t of this.near(best, m.radius + 1)) {
        triangle.set(corner(t, triangle.a), corner(t + 1, triangle.b), corner(t + 2, triangle.c));
        if (triangle.closestPointToPoint(best, q).distanceTo(best) > 1.3 * m.radius) continue;
        for (let k = 0; k < 3; k++) {
          const i = 3 * this.corners[t + k];
          layer.place.push(this.places[i], this.places[i + 1], this.places[i + 2]);
          layer.normal.push(this.normals[i], this.normals[i + 1], this.normals[i + 2]);
          at.fromArray(this.places, i).sub(best);
          layer.local.push(at.dot(u), at.dot(v), at.dot(n));
          layer.info.push(m.kind, m.station, m.radius, number);
        }
        m.drawn++;
      }
      this.ends.forEach((ends, k) => (ends[m.station] = out[k].place.length / 3));
    });
    this.reaches.value?.dispose();
    this.reaches.value = new THREE.DataTexture(reaches, ACROSS * SECTORS, reaches.length / (ACROSS * SECTORS), THREE.RedFormat, THREE.FloatType);
    this.reaches.value.needsUpdate = true;
    this.layers.forEach((mesh, k) => {
      mesh.geometry.dispose();
      const g = (mesh.geometry = new THREE.BufferGeometry());
      g.setAttribute("position", new THREE.Float32BufferAttribute(out[k].place, 3));
      g.setAttribute("normal", new THREE.BufferAttribute(Int8Array.from(out[k].normal), 3, true));
      g.setAttribute("local", new THREE.Float32BufferAttribute(out[k].local, 3));
      g.setAttribute("info", new THREE.Float32BufferAttribute(out[k].info, 4));
    });
  }

  // show draws the marks of the stations from first to last, both included.
  show(first, last) {
    this.first = first;
    this.last = last;
    this.moment.value = last;
    this.layers.forEach((mesh, k) => {
      const upTo = (station) => {
        let s = station;
        while (s >= 0 && this.ends[k][s] === undefined) s--;
        return s < 0 ? 0 : this.ends[k][s];
      };
      const from = upTo(first - 1), to = last < first ? from : upTo(last);
      mesh.visible = to > from;
      mesh.geometry.setDrawRange(from, to - from);
    });
  }

  fade(opacity) {
    for (const { material } of this.layers) {
      material.transparent = opacity < 1;
      material.opacity = opacity;
      material.needsUpdate = true;
    }
  }
}

const cell = (x, y, z) => ((x + 512) * 1024 + (y + 512)) * 1024 + z + 512;
