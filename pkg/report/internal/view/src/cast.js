// One arch: its surface, coloured by clearance, with the marks of contacts on it.
import * as THREE from "three";
import { around, grooves, lit, smooth } from "./light.js";
import { Marks } from "./marks.js";

export const FAR = 32767; // µm, beyond the map

export class Cast {
  constructor(data, facts) {
    this.data = data;
    this.facts = facts;
    const n = data.teeth.length;
    const g = new THREE.BufferGeometry();
    g.setAttribute("position", new THREE.BufferAttribute(data.positions, 3));
    g.setAttribute("normal", new THREE.BufferAttribute(data.normals, 3, true));
    // The map over the surface: linear colours, as much of them as the last number says.
    this.colours = new Uint16Array(4 * n);
    g.setAttribute("map", new THREE.BufferAttribute(this.colours, 4, true));
    const near = around(data.corners, n);
    // A crown ends along a smooth line through the triangles at the border of its label.
    const crown = smooth(Float32Array.from(data.teeth, (t) => (t || !data.codes.length ? 1 : 0)), near, 3);
    g.setAttribute("crown", new THREE.BufferAttribute(Uint8Array.from(crown, (v) => 255 * v), 1, true));
    g.setAttribute("groove", new THREE.BufferAttribute(Uint8Array.from(grooves(data.positions, data.normals, near), (v) => 255 * v), 1, true));
    this.overlap = new Uint8Array(n);
    g.setAttribute("overlap", new THREE.BufferAttribute(this.overlap, 1, true));
    g.setIndex(new THREE.BufferAttribute(data.corners, 1));
    this.gap = new Float32Array(n);
    this.material = new THREE.MeshLambertMaterial({ side: THREE.DoubleSide });
    const plain = (rgb) => `vec3(${rgb.map((v) => (linear(v) / 65535).toFixed(5)).join(", ")})`;
    this.material.onBeforeCompile = (shader) => {
      const varying = "varying vec3 vPlace;\nvarying float vOverlap;\nvarying vec4 vMap;\nvarying float vCrown;\nvarying float vGroove;";
      shader.vertexShader = shader.vertexShader
        .replace("#include <common>", `#include <common>\nattribute float overlap;\nattribute vec4 map;\nattribute float crown;\nattribute float groove;\n${varying}`)
        .replace("#include <begin_vertex>", "#include <begin_vertex>\nvPlace = position;\nvOverlap = overlap;\nvMap = map;\nvCrown = crown;\nvGroove = groove;");
      lit(shader, "(1.0 - 0.7 * smoothstep(0.02, 0.9, vGroove))");
      shader.fragmentShader = shader.fragmentShader
        .replace("#include <common>", `#include <common>\n${varying}`)
        .replace("#include <color_fragment>", `#include <color_fragment>
  float edge = max(fwidth(vCrown), 1e-4);
  diffuseColor.rgb = mix(${plain(this.facts.gumRGB)}, ${plain(this.facts.toothRGB)}, smoothstep(0.5 - edge, 0.5 + edge, vCrown)) * (1.0 - vMap.a) + vMap.rgb;
  if (vOverlap > 0.5 && mod(vPlace.x + vPlace.y + vPlace.z, 0.5) < 0.17) diffuseColor.rgb = vec3(1.0);
  if (!gl_FrontFacing) diffuseColor.rgb = vec3(0.27, 0.25, 0.24);`);
    };
    this.mesh = new THREE.Mesh(g, this.material);
    this.mesh.matrixAutoUpdate = false;
    this.marks = new Marks(g, data.corners);
    this.mesh.add(...this.marks.layers);
    this.number = number(g, data.teeth);
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
      let c = null;
      this.overlap[i] = 0;
      if (limit && gap < -0.5) {
        c = this.facts.overlapRGB;
        this.overlap[i] = 255;
      } else if (limit && gap <= limit) {
        const s = (Math.max(0, gap) / limit) * last;
        const k = Math.min(last - 1, Math.floor(s));
        const w = s - k;
        c = stops[k].map((v, j) => v + w * (stops[k + 1][j] - v));
      }
      this.colour(i, c);
    }
    this.coloured();
  }

  // tint colours each vertex as of says of its tooth: sRGB bytes with stripes or without, or null for plain.
  tint(of) {
    const { teeth } = this.data;
    for (let i = 0; i < teeth.length; i++) {
      const c = of(teeth[i]);
      this.colour(i, c && c.rgb);
      this.overlap[i] = c && c.stripes ? 255 : 0;
    }
    this.coloured();
  }

  // colour gives a vertex a colour, sRGB bytes, or none.
  colour(i, c) {
    for (let j = 0; j < 3; j++) this.colours[4 * i + j] = c ? linear(c[j]) : 0;
    this.colours[4 * i + 3] = c ? 65535 : 0;
  }

  coloured() {
    this.mesh.geometry.attributes.map.needsUpdate = true;
    this.mesh.geometry.attributes.overlap.needsUpdate = true;
  }

  // dispose gives back what the surface holds.
  dispose() {
    this.mesh.geometry.dispose();
    this.material.dispose();
    this.number.dispose();
    for (const l of this.marks.layers) {
      l.geometry.dispose();
      l.material.dispose();
    }
  }

  fade(how) {
    this.mesh.visible = how !== "hide";
    this.material.transparent = how === "fade";
    this.material.opacity = how === "fade" ? 0.35 : 1;
    this.material.depthWrite = how !== "fade";
    this.material.needsUpdate = true;
    this.marks.fade(how === "fade" ? 0.45 : 1);
    this.faded = how === "fade";
  }

  // numbered draws the surface in the numbers of its teeth while it is on, without what
  // is seen through.
  numbered(on) {
    this.mesh.material = on ? this.number : this.material;
    if (on) this.wasVisible = this.mesh.visible;
    this.mesh.visible = on ? this.mesh.visible && !this.faded : this.wasVisible;
    for (const l of this.marks.layers) l.layers.set(on ? 1 : 0);
  }
}

// number is a material that draws each triangle in the number of its tooth, those between
// teeth in none.
function number(geometry, teeth) {
  geometry.setAttribute("tooth", new THREE.BufferAttribute(teeth, 1));
  return new THREE.ShaderMaterial({
    side: THREE.DoubleSide,
    clipping: true,
    vertexShader: `attribute float tooth;\nflat varying float vTooth;\nvarying float vMixed;\n#include <common>\n#include <clipping_planes_pars_vertex>
void main() {\nvTooth = vMixed = tooth;\n#include <begin_vertex>\n#include <project_vertex>\n#include <clipping_planes_vertex>\n}`,
    fragmentShader: `flat varying float vTooth;\nvarying float vMixed;\n#include <common>\n#include <clipping_planes_pars_fragment>
void main() {\n#include <clipping_planes_fragment>\ngl_FragColor = vec4(abs(vMixed - vTooth) < 0.01 ? vTooth / 255.0 : 0.0, 0.0, 0.0, 1.0);\n}`,
  });
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
