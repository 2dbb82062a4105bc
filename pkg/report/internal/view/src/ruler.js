// A ruler between two points of what is drawn.
import * as THREE from "three";

export class Ruler {
  constructor(scene, write) {
    this.scene = scene;
    this.write = write; // a length in mm
    this.on = false;
    this.points = [];
    const seen = { color: 0x1d2b36, depthTest: false };
    this.line = new THREE.Line(new THREE.BufferGeometry(), new THREE.LineBasicMaterial(seen));
    this.ends = [0, 1].map(() => new THREE.Mesh(new THREE.SphereGeometry(0.22, 12, 8), new THREE.MeshBasicMaterial(seen)));
    for (const x of [this.line, ...this.ends]) x.renderOrder = 1;
    scene.scene.add(this.line, ...this.ends);
    scene.aside.push(this.line, ...this.ends);
    this.label = document.createElement("output");
    this.label.className = "measure";
    document.getElementById("stage").append(this.label);
    this.show();
  }

  use(on) {
    this.on = on;
    this.clear();
  }

  clear() {
    if (!this.points.length) return;
    this.points = [];
    this.show();
  }

  // set is the next point; a third one begins anew.
  set(point) {
    this.points = this.points.length === 2 ? [point.clone()] : [...this.points, point.clone()];
    this.show();
  }

  show() {
    const [a, b] = this.points;
    this.ends.forEach((x, k) => {
      x.visible = Boolean(this.points[k]);
      if (x.visible) x.position.copy(this.points[k]);
    });
    this.line.visible = Boolean(b);
    this.label.hidden = !b;
    if (b) {
      this.line.geometry.setFromPoints([a, b]);
      this.label.textContent = this.write(a.distanceTo(b));
    }
    this.scene.draw();
  }

  // place puts the length beside the middle of the line.
  place() {
    if (this.label.hidden) return;
    const p = this.points[0].clone().lerp(this.points[1], 0.5).project(this.scene.camera), c = this.scene.renderer.domElement;
    this.label.style.transform = `translate(${((p.x + 1) / 2) * c.clientWidth + 8}px, ${((1 - p.y) / 2) * c.clientHeight - 10}px)`;
  }
}
