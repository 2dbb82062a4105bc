// One arch: its surface, coloured by clearance, with the marks of contacts
// painted on it.
import * as THREE from "three";

export const FAR = 32767; // µm, beyond the map
export const MARKS = 24; // at most, on one arch

const markCode = `
  for (int i = 0; i < ${MARKS}; i++) {
    if (i >= markCount) break;
    vec3 off = vPlace - marks[i].xyz;
    float r = length(off) / marks[i].w;
    float kind = kinds[i];
    if (r > 1.0 || (kind < 0.5 && r < 0.5)) continue;
    bool rim = r > 0.85 || (kind < 0.5 && r < 0.62);
    // A cross tells the pair that carries.
    vec2 c = vec2(dot(off, acrossX), dot(off, acrossY)) / marks[i].w;
    if (kind > 1.5 && min(abs(c.x - c.y), abs(c.x + c.y)) < 0.2) rim = true;
    diffuseColor.rgb = rim ? vec3(1.0) : vec3(0.008);
  }`;

export class Cast {
  constructor(data, facts) {
    this.data = data;
    this.facts = facts;
    const n = data.teeth.length;
    const g = new THREE.BufferGeometry();
    g.setAttribute("position", new THREE.BufferAttribute(data.positions, 3));
    g.setAttribute("normal", new THREE.BufferAttribute(data.normals, 3, true));
    this.colours = new Uint16Array(3 * n);
    g.setAttribute("color", new THREE.BufferAttribute(this.colours, 3, true));
    this.overlap = new Uint8Array(n);
    g.setAttribute("overlap", new THREE.BufferAttribute(this.overlap, 1, true));
    g.setIndex(new THREE.BufferAttribute(data.corners, 1));
    this.gap = new Float32Array(n);
    this.uniforms = {
      marks: { value: Array.from({ length: MARKS }, () => new THREE.Vector4()) },
      kinds: { value: new Float32Array(MARKS) },
      markCount: { value: 0 },
      acrossX: { value: new THREE.Vector3(1, 0, 0) },
      acrossY: { value: new THREE.Vector3(0, 1, 0) },
    };
    this.material = new THREE.MeshLambertMaterial({ vertexColors: true, side: THREE.DoubleSide });
    this.material.onBeforeCompile = (shader) => {
      Object.assign(shader.uniforms, this.uniforms);
      shader.vertexShader = shader.vertexShader
        .replace("#include <common>", "#include <common>\nattribute float overlap;\nvarying vec3 vPlace;\nvarying float vOverlap;")
        .replace("#include <begin_vertex>", "#include <begin_vertex>\nvPlace = position;\nvOverlap = overlap;");
      shader.fragmentShader = shader.fragmentShader
        .replace("#include <common>", `#include <common>
varying vec3 vPlace;\nvarying float vOverlap;
uniform vec4 marks[${MARKS}];\nuniform float kinds[${MARKS}];\nuniform int markCount;\nuniform vec3 acrossX;\nuniform vec3 acrossY;`)
        .replace("#include <color_fragment>", `#include <color_fragment>
  if (vOverlap > 0.5 && mod(vPlace.x + vPlace.y + vPlace.z, 0.5) < 0.17) diffuseColor.rgb = vec3(1.0);
  if (!gl_FrontFacing) diffuseColor.rgb = vec3(0.27, 0.25, 0.24);${markCode}`);
    };
    this.mesh = new THREE.Mesh(g, this.material);
    this.mesh.matrixAutoUpdate = false;
  }

  // show colours the surface between two maps, t from 0 to 1. limit is the far
  // end of the colours in µm, 0 for none.
  show(a, b, t, limit) {
    const { teeth, gaps } = this.data;
    const stops = this.facts.stops;
    const last = stops.length - 1;
    for (let i = 0; i < teeth.length; i++) {
      const x = gaps[a][i], y = gaps[b][i];
      const gap = x === FAR || y === FAR ? (t < 0.5 ? x : y) : x + t * (y - x);
      this.gap[i] = gap;
      let c = teeth[i] || !this.data.codes.length ? this.facts.toothRGB : this.facts.gumRGB;
      this.overlap[i] = 0;
      if (limit && gap < -0.5) {
        c = this.facts.overlapRGB;
        this.overlap[i] = 255;
      } else if (limit && gap <= limit) {
        const s = (Math.max(0, gap) / limit) * last;
        const k = Math.min(last - 1, Math.floor(s));
        const w = s - k;
        for (let j = 0; j < 3; j++) this.colours[3 * i + j] = linear(stops[k][j] + w * (stops[k + 1][j] - stops[k][j]));
        continue;
      }
      for (let j = 0; j < 3; j++) this.colours[3 * i + j] = linear(c[j]);
    }
    this.mesh.geometry.attributes.color.needsUpdate = true;
    this.mesh.geometry.attributes.overlap.needsUpdate = true;
  }

  // mark paints contacts: points in the arch's own frame.
  mark(list) {
    const u = this.uniforms;
    u.markCount.value = Math.min(MARKS, list.length);
    list.slice(0, MARKS).forEach((m, i) => {
      u.marks.value[i].set(...m.at, m.radius);
      u.kinds.value[i] = m.kind;
    });
  }

  fade(how) {
    this.mesh.visible = how !== "hide";
    this.material.transparent = how === "fade";
    this.material.opacity = how === "fade" ? 0.35 : 1;
    this.material.depthWrite = how !== "fade";
    this.material.needsUpdate = true;
  }
}

// linear is an sRGB byte as a linear 16-bit number: the renderer works in linear
// light.
const table = Uint16Array.from({ length: 256 }, (_, i) => {
  const c = i / 255;
  return Math.round(65535 * (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
});
function linear(v) {
  return table[Math.round(v)];
}
