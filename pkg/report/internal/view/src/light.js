// How surfaces are shaded: as the still pictures are, lit from where one looks, from the
// upper left, in the tones that the eye sees.

// lit makes a shader of three's Lambert material shade so; normal and diffuseColor are
// its own. ao is the name of a number that darkens grooves, or none.
export function lit(shader, ao = "1.0") {
  shader.fragmentShader = shader.fragmentShader.replace("#include <opaque_fragment>", `
  float shade = 0.42 + 0.5 * max(0.0, dot(normal, normalize(vec3(-0.45, 0.55, 1.0)))) + 0.14 * max(0.0, dot(normal, normalize(vec3(0.9, -0.3, 0.6))));
  outgoingLight = pow(pow(diffuseColor.rgb, vec3(1.0 / 2.2)) * shade * ${ao}, vec3(2.2));
  #include <opaque_fragment>`);
}

// around lists the neighbours of each vertex, those of vertex i from from[i] to from[i + 1].
export function around(corners, n) {
  const from = new Uint32Array(n + 1);
  for (const v of corners) from[v + 1] += 2;
  for (let i = 0; i < n; i++) from[i + 1] += from[i];
  const next = from.slice(0, n), list = new Uint32Array(2 * corners.length);
  for (let t = 0; t < corners.length; t += 3)
    for (let k = 0; k < 3; k++) {
      const v = corners[t + k];
      list[next[v]++] = corners[t + ((k + 1) % 3)];
      list[next[v]++] = corners[t + ((k + 2) % 3)];
    }
  return { from, list };
}

// smooth averages a number over the neighbours of each vertex, a few times.
export function smooth(values, { from, list }, times) {
  for (let again = 0; again < times; again++) {
    const out = new Float32Array(values.length);
    for (let i = 0; i < out.length; i++) {
      let sum = values[i];
      for (let k = from[i]; k < from[i + 1]; k++) sum += values[list[k]];
      out[i] = sum / (1 + from[i + 1] - from[i]);
    }
    values = out;
  }
  return values;
}

// grooves is how dark each vertex lies in the hollows round it, 0 to 1 (0.5 for a hollow of
// about 1 mm radius): how far its neighbours rise above its tangent plane, on their
// distance. It stands for the light that a hollow does not let in.
export function grooves(positions, normals, near) {
  const n = positions.length / 3, out = new Float32Array(n);
  for (let i = 0; i < n; i++) {
    let sum = 0;
    for (let k = near.from[i]; k < near.from[i + 1]; k++) {
      const j = 3 * near.list[k];
      const x = positions[j] - positions[3 * i], y = positions[j + 1] - positions[3 * i + 1], z = positions[j + 2] - positions[3 * i + 2];
      const far2 = x * x + y * y + z * z;
      if (far2 > 1e-8) sum += (x * normals[3 * i] + y * normals[3 * i + 1] + z * normals[3 * i + 2]) / 127 / far2;
    }
    out[i] = sum / Math.max(1, near.from[i + 1] - near.from[i]);
  }
  return smooth(out, near, 2).map((v) => Math.max(0, Math.min(1, v)));
}
