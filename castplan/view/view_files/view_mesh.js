// Surfaces on the page: packed arrays unpacked, corner normals, edges, rays, simple bodies.

const CREASE = Math.cos((32 * Math.PI) / 180);
const MOST_LOOKED = 10; // facets of a group that are looked for from each side
// From the front and above first: of sides that show as much, that one stays.
const SIDES = [0.5, 1.1, 0.1, -0.4].flatMap((pitch) => [-0.9, -2.2, 0.4, 2.2, -1.55, 3.1, 1.5, 0].map((yaw) => [
  Math.cos(pitch) * Math.cos(yaw), Math.cos(pitch) * Math.sin(yaw), Math.sin(pitch)]));
const ARRAYS = { u1: Uint8Array, u2: Uint16Array, u4: Uint32Array, i2: Int16Array, f4: Float32Array };

/** A typed array from {type, data}; data is base64 of little-endian numbers. */
export function unpack(packed) {
  const text = atob(packed.data);
  const bytes = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k += 1) bytes[k] = text.charCodeAt(k);
  return new ARRAYS[packed.type](bytes.buffer);
}

/** A mesh {points, faces} from its packed form; points in mm, three numbers each. */
export function unpackMesh(packed) {
  const grid = unpack(packed.points);
  const points = new Float32Array(grid.length);
  for (let k = 0; k < grid.length; k += 1) points[k] = packed.low[k % 3] + packed.step[k % 3] * grid[k];
  return { points, faces: unpack(packed.faces), edges: unpack(packed.edges) };
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
 * What the renderer draws of a mesh: a point and a normal per corner, and sharp edges.
 * A corner's normal is the mean over the facets round it that bend off by less than a crease.
 */
export function dress(mesh) {
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
    let x = 0, y = 0, z = 0;
    for (let n = first[v]; n < first[v + 1]; n += 1) {
      const g = 3 * list[n];
      if (bend(unit, f, g) < CREASE) continue;
      x += normals[g]; y += normals[g + 1]; z += normals[g + 2];
    }
    const size = Math.hypot(x, y, z) || 1;
    bent[4 * k] = Math.round((127 * x) / size);
    bent[4 * k + 1] = Math.round((127 * y) / size);
    bent[4 * k + 2] = Math.round((127 * z) / size);
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
 * First facet that a ray meets: {face, distance}, or null. Origin, way: three numbers.
 * isKept(x, y, z) says whether a point of the surface is there to be met.
 */
export function meet({ points, faces }, origin, way, isKept) {
  const [ox, oy, oz] = origin, [dx, dy, dz] = way;
  let best = Infinity, face = -1;
  for (let f = 0; f < faces.length; f += 3) {
    const a = 3 * faces[f], b = 3 * faces[f + 1], c = 3 * faces[f + 2];
    const ax = points[a], ay = points[a + 1], az = points[a + 2];
    const ux = points[b] - ax, uy = points[b + 1] - ay, uz = points[b + 2] - az;
    const vx = points[c] - ax, vy = points[c + 1] - ay, vz = points[c + 2] - az;
    const px = dy * vz - dz * vy, py = dz * vx - dx * vz, pz = dx * vy - dy * vx;
    const det = ux * px + uy * py + uz * pz;
    if (Math.abs(det) < 1e-12) continue;
    const tx = ox - ax, ty = oy - ay, tz = oz - az;
    const s = (tx * px + ty * py + tz * pz) / det;
    if (s < 0 || s > 1) continue;
    const qx = ty * uz - tz * uy, qy = tz * ux - tx * uz, qz = tx * uy - ty * ux;
    const t = (dx * qx + dy * qy + dz * qz) / det;
    if (t < 0 || s + t > 1) continue;
    const distance = (vx * qx + vy * qy + vz * qz) / det;
    if (distance <= 0 || distance >= best) continue;
    if (!isKept(ox + distance * dx, oy + distance * dy, oz + distance * dz)) continue;
    best = distance;
    face = f / 3;
  }
  return face < 0 ? null : { face, distance: best };
}

/**
 * A place to look at a group of facets from: {at, from, size}; null for no facets.
 * Of many sides the one that shows most of them past the rest of the mesh.
 */
export function middleOf(mesh, unit, isWanted) {
  const { points, faces } = mesh, found = [];
  for (let f = 0; f < faces.length / 3; f += 1) {
    if (!isWanted(f)) continue;
    const at = [0, 1, 2].map((k) => [0, 1, 2].reduce((all, c) => all + points[3 * faces[3 * f + c] + k], 0) / 3);
    found.push({ at, out: Array.from(unit.subarray(3 * f, 3 * f + 3)) });
  }
  if (!found.length) return null;
  const middle = found.reduce((sum, { at }) => add(sum, at, 1 / found.length), [0, 0, 0]);
  const size = 2 * found.reduce((most, { at }) => Math.max(most, Math.hypot(...add(at, middle, -1))), 0);
  const few = found.filter((_, k) => k % Math.ceil(found.length / MOST_LOOKED) === 0);
  let best = { seen: 0, at: middle, from: [0.5, -0.7, 0.5] };
  for (const from of SIDES) {
    let seen = 0, nearest = null;
    for (const { at, out } of few) {
      const facing = dot(out, from);
      if (facing < 0.15 || meet(mesh, add(at, out, 1e-3), from, () => true)) continue;
      seen += facing;
      const away = Math.hypot(...add(at, middle, -1));
      if (!nearest || away < nearest.away) nearest = { at, away };
    }
    if (seen > best.seen) best = { seen, at: nearest.at, from };
  }
  return { at: best.at, from: best.from, size };
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
