// Surfaces on the page: packed arrays unpacked, corner normals, edges, rays, simple bodies.

const CREASE = Math.cos((32 * Math.PI) / 180);
const ARRAYS = { u1: Uint8Array, u2: Uint16Array, u4: Uint32Array, i2: Int16Array, f4: Float32Array };

/** A typed array from {type, data}; data is base64 of little-endian numbers, deflated. */
export async function unpack({ type, data }) {
  const text = atob(data), bytes = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k += 1) bytes[k] = text.charCodeAt(k);
  const flow = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new ARRAYS[type](await new Response(flow).arrayBuffer());
}

/** All that is told, with typed arrays in place of the packed ones, of which `unpackOne` makes each. */
export async function unpackAll(told, unpackOne = unpack) {
  if (told === null || typeof told !== "object") return told;
  if ("type" in told && ("data" in told || "sum" in told)) return unpackOne(told);
  if (Array.isArray(told)) return typeof told[0] === "object" ? Promise.all(told.map((one) => unpackAll(one, unpackOne))) : told;
  const made = await Promise.all(Object.entries(told).map(async ([key, value]) => [key, await unpackAll(value, unpackOne)]));
  return Object.fromEntries(made);
}

/** A mesh {points, faces} from its grid; points in mm, three numbers each. */
export function meshOf(packed) {
  const grid = packed.points;
  const points = new Float32Array(grid.length);
  for (let k = 0; k < grid.length; k += 1) points[k] = packed.low[k % 3] + packed.step[k % 3] * grid[k];
  return { points, faces: packed.faces, edges: packed.edges };
}

function faceNormals(points, faces) {
  const out = new Float32Array(faces.length);
  for (let f = 0; f < faces.length; f += 3) {
    const a = 3 * faces[f], b = 3 * faces[f + 1], c = 3 * faces[f + 2];
    const ux = points[b] - points[a], uy = points[b + 1] - points[a + 1], uz = points[b + 2] - points[a + 2];
    const vx = points[c] - points[a], vy = points[c + 1] - points[a + 1], vz = points[c + 2] - points[a + 2];
    out[f] = uy * vz - uz * vy;
    out[f + 1] = uz * vx - ux * vz;
    out[f + 2] = ux * vy - uy * vx;
  }
  return out;
}

function facesAround(faces, nPoints) {
  const first = new Uint32Array(nPoints + 1);
  for (const v of faces) first[v + 1] += 1;
  for (let v = 0; v < nPoints; v += 1) first[v + 1] += first[v];
  const at = first.slice(0, nPoints);
  const list = new Uint32Array(faces.length);
  for (let k = 0; k < faces.length; k += 1) list[at[faces[k]]++] = Math.floor(k / 3);
  return { first, list };
}

/**
 * What the renderer draws of a mesh: a point, a normal and a light per corner, and sharp edges.
 * A corner's normal is the mean over the facets round it that bend off by less than a crease,
 * its light the mean of what comes to them: `open` of 127 a facet, all of it where not told.
 */
export function dress(mesh, open = null) {
  const { points, faces } = mesh;
  const normals = faceNormals(points, faces);
  const unit = new Float32Array(normals.length);
  for (let f = 0; f < normals.length; f += 3) {
    const size = Math.hypot(normals[f], normals[f + 1], normals[f + 2]) || 1;
    for (let k = 0; k < 3; k += 1) unit[f + k] = normals[f + k] / size;
  }
  const { first, list } = facesAround(faces, points.length / 3);
  const corners = new Float32Array(3 * faces.length);
  const bent = new Int8Array(4 * faces.length);
  for (let k = 0; k < faces.length; k += 1) {
    const v = faces[k], f = 3 * Math.floor(k / 3);
    let x = 0, y = 0, z = 0, light = 0, around = 0;
    for (let n = first[v]; n < first[v + 1]; n += 1) {
      const g = 3 * list[n];
      if (bend(unit, f, g) < CREASE) continue;
      x += normals[g]; y += normals[g + 1]; z += normals[g + 2];
      if (open) { light += open[list[n]]; around += 1; }
    }
    const size = Math.hypot(x, y, z) || 1;
    bent[4 * k] = Math.round((127 * x) / size);
    bent[4 * k + 1] = Math.round((127 * y) / size);
    bent[4 * k + 2] = Math.round((127 * z) / size);
    bent[4 * k + 3] = around ? Math.round(light / around) : 127;
    corners.set(points.subarray(3 * v, 3 * v + 3), 3 * k);
  }
  return { corners, normals: bent, unit, ...creases(mesh) };
}

function bend(unit, f, g) { return unit[f] * unit[g] + unit[f + 1] * unit[g + 1] + unit[f + 2] * unit[g + 2]; }

/** Sharp edges as segments, and the points where they end or turn. */
function creases({ points, edges = [] }) {
  const out = new Float32Array(3 * edges.length);
  const meet = new Map();
  edges.forEach((v, k) => {
    out.set(points.subarray(3 * v, 3 * v + 3), 3 * k);
    if (!meet.has(v)) meet.set(v, []);
    meet.get(v).push(edges[k ^ 1]);
  });
  // Where a straight edge only passes through, nobody aims for the point.
  const cornerPoints = [];
  for (const [v, others] of meet) {
    if (others.length === 2 && isStraight(points, others[0], v, others[1])) continue;
    cornerPoints.push(Array.from(points.subarray(3 * v, 3 * v + 3)));
  }
  return { edges: out, cornerPoints };
}

function isStraight(points, a, v, b) {
  const u = [0, 1, 2].map((k) => points[3 * v + k] - points[3 * a + k]);
  const w = [0, 1, 2].map((k) => points[3 * b + k] - points[3 * v + k]);
  return dot(u, w) > 0.97 * Math.hypot(...u) * Math.hypot(...w);
}

/**
 * Where a plane (a, b, c, d), a x + b y + c z = d, cuts a mesh: segments, six numbers each.
 * The mesh is moved by `shift` first.
 */
export function sliceOf({ points, faces }, plane, shift) {
  const off = plane[3] - dot(plane, shift), out = [];
  const side = new Float32Array(points.length / 3);
  for (let v = 0; v < side.length; v += 1) {
    side[v] = plane[0] * points[3 * v] + plane[1] * points[3 * v + 1] + plane[2] * points[3 * v + 2] - off;
  }
  for (let f = 0; f < faces.length; f += 3) {
    const over = [side[faces[f]] > 0, side[faces[f + 1]] > 0, side[faces[f + 2]] > 0];
    if (over[0] === over[1] && over[1] === over[2]) continue;
    for (let c = 0; c < 3; c += 1) {
      const v = faces[f + c], w = faces[f + ((c + 1) % 3)];
      if (over[c] === over[(c + 1) % 3]) continue;
      const share = side[v] / (side[v] - side[w]);
      for (let k = 0; k < 3; k += 1) out.push(points[3 * v + k] + share * (points[3 * w + k] - points[3 * v + k]) + shift[k]);
    }
  }
  return out;
}

/** A round rod through rings [[centre, radius], ...], closed at both ends. */
export function rod(rings, way, sides = 24) {
  const x = cross(Math.abs(way[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0], way);
  const size = Math.hypot(...x);
  const across = [x.map((value) => value / size)];
  across.push(cross(way, across[0]));
  const points = [], faces = [];
  for (const [centre, radius] of rings) {
    for (let k = 0; k < sides; k += 1) {
      const c = radius * Math.cos((2 * Math.PI * k) / sides), s = radius * Math.sin((2 * Math.PI * k) / sides);
      for (let n = 0; n < 3; n += 1) points.push(centre[n] + c * across[0][n] + s * across[1][n]);
    }
  }
  for (let r = 0; r + 1 < rings.length; r += 1) {
    for (let k = 0; k < sides; k += 1) {
      const a = r * sides + k, b = r * sides + ((k + 1) % sides);
      faces.push(a, b, b + sides, a, b + sides, a + sides);
    }
  }
  const last = (rings.length - 1) * sides;
  for (let k = 1; k + 1 < sides; k += 1) faces.push(0, k + 1, k, last, last + k, last + k + 1);
  return { points: new Float32Array(points), faces: new Uint32Array(faces) };
}

/** The channel of an opening leg by leg, with the cup that it ends in. */
export function portRod({ path, bore, cup }) {
  const legs = path.slice(1).map((to, k) => {
    const from = path[k], way = norm(add(to, from, -1));
    const rings = [[from, 0.5 * bore]];
    if (k + 2 < path.length) rings.push([add(to, way, 0.4 * bore), 0.5 * bore]); // round the bend
    else if (cup) rings.push([add(to, way, -cup.deep), 0.5 * bore], [to, 0.5 * cup.wide]);
    else rings.push([to, 0.5 * bore]);
    return rod(rings, way);
  });
  return join(legs);
}

/** Several meshes as one. */
export function join(meshes) {
  const points = [], faces = [];
  for (const mesh of meshes) {
    const before = points.length / 3;
    for (const value of mesh.points) points.push(value);
    for (const v of mesh.faces) faces.push(v + before);
  }
  return { points: new Float32Array(points), faces: new Uint32Array(faces) };
}

/** The half-round key at a place: its cap, a hair proud of the rubber it stands on. */
export function keyCap(place, keys) {
  const sign = keys.isRaised ? 1 : -1;
  const round = (0.25 * keys.diameter ** 2 + keys.depth ** 2) / (2 * keys.depth);
  const ball = round + 0.015 * keys.diameter;
  const widest = Math.acos((round - keys.depth) / ball);
  const rings = [];
  for (let k = 0; k <= 8; k += 1) {
    const angle = widest * (1 - k / 8);
    const up = ball * Math.cos(angle) - (round - keys.depth);
    rings.push([[place[0], place[1], place[2] + sign * up], Math.max(ball * Math.sin(angle), 1e-3)]);
  }
  return rod(rings, [0, 0, sign], 32);
}

export function dot(a, b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }
export function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
export function add(a, b, times = 1) { return [a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2]]; }
export function norm(a) { const size = Math.hypot(...a) || 1; return a.map((value) => value / size); }
