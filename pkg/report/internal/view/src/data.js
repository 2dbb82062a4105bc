// Reads what the report says: facts in JSON, surfaces and maps as deflated
// arrays (view.go tells how they lie).

export async function read() {
  const facts = JSON.parse(document.getElementById("view-facts").textContent);
  const text = document.getElementById("view-data").textContent.trim();
  const packed = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  const view = new DataView(await new Response(stream).arrayBuffer());
  const cursor = { at: 0 };
  const maps = facts.maps.length + (facts.room ? 1 : 0);
  return { facts, upper: arch(view, cursor, facts.upper, maps), lower: arch(view, cursor, facts.lower, maps) };
}

function arch(view, cursor, a, maps) {
  const positions = new Float32Array(3 * a.vertices);
  for (let axis = 0; axis < 3; axis++) {
    let last = 0;
    for (let i = 0; i < a.vertices; i++, cursor.at += 2) {
      last = (last + view.getUint16(cursor.at, true)) & 0xffff;
      positions[3 * i + axis] = a.min[axis] + a.step * last;
    }
  }
  const normals = new Int8Array(view.buffer.slice(cursor.at, (cursor.at += 3 * a.vertices)));
  const teeth = new Uint8Array(view.buffer.slice(cursor.at, (cursor.at += a.vertices)));
  const corners = new Uint32Array(3 * a.triangles);
  let last = 0;
  for (let i = 0; i < corners.length; i++, cursor.at += 4) {
    last = (last + view.getUint32(cursor.at, true)) >>> 0;
    corners[i] = last;
  }
  const gaps = [];
  for (let m = 0; m < maps; m++) {
    const gap = new Int16Array(a.vertices);
    let um = 0;
    for (let i = 0; i < a.vertices; i++, cursor.at += 2) {
      um = ((um + view.getUint16(cursor.at, true)) << 16) >> 16;
      gap[i] = um;
    }
    gaps.push(gap);
  }
  return { positions, normals, teeth, corners, gaps, codes: a.teeth };
}
