// The keys that turn, move and bring nearer what is seen.
import * as THREE from "three";

// steer does what a key says, and tells whether it was one of them.
export function steer(scene, e) {
  const { camera, controls } = scene;
  const turn = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
  if (turn && e.shiftKey) {
    const s = 0.03 * camera.position.distanceTo(controls.target);
    const way = new THREE.Vector3(turn[0] * s, -turn[1] * s, 0).applyQuaternion(camera.quaternion);
    camera.position.add(way);
    controls.target.add(way);
  } else if (turn) {
    const d = new THREE.Spherical();
    const off = camera.position.clone().sub(controls.target).applyAxisAngle(new THREE.Vector3(1, 0, 0), -Math.PI / 2);
    d.setFromVector3(off);
    d.theta += 0.1 * turn[0];
    d.phi += 0.1 * turn[1];
    d.makeSafe();
    off.setFromSpherical(d).applyAxisAngle(new THREE.Vector3(1, 0, 0), Math.PI / 2);
    camera.position.copy(controls.target).add(off);
  } else if (e.key === "+" || e.key === "=" || e.key === "-") {
    const off = camera.position.clone().sub(controls.target).multiplyScalar(e.key === "-" ? 1.1 : 1 / 1.1);
    camera.position.copy(controls.target).add(off);
  } else return false;
  controls.update();
  scene.draw();
  return true;
}
