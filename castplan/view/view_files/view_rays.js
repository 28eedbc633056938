// Rays into surfaces: a tree of boxes over the facets, and the first facet that a ray meets.
import { dot, add } from "./view_mesh.js";

const LEAF = 4; // facets at the end of a branch
const BITS = 10; // of a facet's place along each axis, and of a step of sorting
const MOST_LOOKED = 10; // facets of a group that are looked for from each side
// From the front and above first: of sides that show as much, that one stays.
const SIDES = [0.5, 1.1, 0.1, -0.4].flatMap((pitch) => [-0.9, -2.2, 0.4, 2.2, -1.55, 3.1, 1.5, 0].map((yaw) => [
  Math.cos(pitch) * Math.cos(yaw), Math.cos(pitch) * Math.sin(yaw), Math.sin(pitch)]));

/** Spread ten bits so that two empty ones stand between them. */
function spread(value) {
  let v = value;
  v = (v | (v << 16)) & 0x030000ff;
  v = (v | (v << 8)) & 0x0300f00f;
  v = (v | (v << 4)) & 0x030c30c3;
  return (v | (v << 2)) & 0x09249249;
}

/** Facets along a curve through space on which near ones stand together. */
function inOrder({ points, faces }) {
  const n = faces.length / 3, low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (let k = 0; k < points.length; k += 1) {
    low[k % 3] = Math.min(low[k % 3], points[k]);
    high[k % 3] = Math.max(high[k % 3], points[k]);
  }
  const scale = low.map((value, k) => (2 ** BITS - 1) / (3 * Math.max(high[k] - value, 1e-9)));
  let keys = new Uint32Array(n), order = new Uint32Array(n);
  for (let f = 0; f < n; f += 1) {
    const a = 3 * faces[3 * f], b = 3 * faces[3 * f + 1], c = 3 * faces[3 * f + 2];
    const at = (k) => spread(((points[a + k] + points[b + k] + points[c + k] - 3 * low[k]) * scale[k]) | 0);
    keys[f] = at(0) | (at(1) << 1) | (at(2) << 2);
    order[f] = f;
  }
  for (let shift = 0; shift < 3 * BITS; shift += BITS) {
    const first = new Uint32Array(2 ** BITS + 1), mask = 2 ** BITS - 1;
    for (let k = 0; k < n; k += 1) first[((keys[k] >>> shift) & mask) + 1] += 1;
    for (let k = 0; k < mask; k += 1) first[k + 1] += first[k];
    const sorted = new Uint32Array(n), moved = new Uint32Array(n);
    for (let k = 0; k < n; k += 1) {
      const to = first[(keys[k] >>> shift) & mask]++;
      sorted[to] = keys[k];
      moved[to] = order[k];
    }
    keys = sorted;
    order = moved;
  }
  return order;
}

/** The tree: facets in order, and a box (low, high) for every node of a full binary tree. */
function grow(mesh) {
  const { points, faces } = mesh, order = inOrder(mesh);
  const n = Math.max(Math.ceil(order.length / LEAF), 1);
  const leaves = 2 ** Math.ceil(Math.log2(n));
  const boxes = new Float32Array(12 * leaves);
  for (let node = 1; node < 2 * leaves; node += 1) boxes.set([Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity], 6 * node);
  for (let k = 0; k < order.length; k += 1) {
    const at = 6 * (leaves + Math.floor(k / LEAF));
    for (let c = 0; c < 3; c += 1) {
      const v = 3 * faces[3 * order[k] + c];
      for (let axis = 0; axis < 3; axis += 1) {
        boxes[at + axis] = Math.min(boxes[at + axis], points[v + axis]);
        boxes[at + 3 + axis] = Math.max(boxes[at + 3 + axis], points[v + axis]);
      }
    }
  }
  for (let node = leaves - 1; node > 0; node -= 1) {
    for (let k = 0; k < 6; k += 1) {
      const one = boxes[12 * node + k], other = boxes[12 * node + 6 + k];
      boxes[6 * node + k] = k < 3 ? Math.min(one, other) : Math.max(one, other);
    }
  }
  return { order, leaves, boxes };
}

/** How far along a ray a box begins; infinity where it is missed. */
function enter(boxes, node, origin, slow) {
  if (boxes[6 * node] > boxes[6 * node + 3]) return Infinity; // nothing is in it
  let near = 0, far = Infinity;
  for (let k = 0; k < 3; k += 1) {
    const one = (boxes[6 * node + k] - origin[k]) * slow[k], other = (boxes[6 * node + 3 + k] - origin[k]) * slow[k];
    near = Math.max(near, Math.min(one, other));
    far = Math.min(far, Math.max(one, other));
  }
  // Points are kept in single precision: a box is a hair wider than it says.
  return near <= far * (1 + 1e-6) + 1e-6 ? near : Infinity;
}

/** How far along a ray a facet lies; infinity where it is missed. */
function reach(points, faces, f, origin, way) {
  const [ox, oy, oz] = origin, [dx, dy, dz] = way;
  const a = 3 * faces[f], b = 3 * faces[f + 1], c = 3 * faces[f + 2];
  const ax = points[a], ay = points[a + 1], az = points[a + 2];
  const ux = points[b] - ax, uy = points[b + 1] - ay, uz = points[b + 2] - az;
  const vx = points[c] - ax, vy = points[c + 1] - ay, vz = points[c + 2] - az;
  const px = dy * vz - dz * vy, py = dz * vx - dx * vz, pz = dx * vy - dy * vx;
  const det = ux * px + uy * py + uz * pz;
  if (Math.abs(det) < 1e-12) return Infinity;
  const tx = ox - ax, ty = oy - ay, tz = oz - az;
  const s = (tx * px + ty * py + tz * pz) / det;
  if (s < 0 || s > 1) return Infinity;
  const qx = ty * uz - tz * uy, qy = tz * ux - tx * uz, qz = tx * uy - ty * ux;
  const t = (dx * qx + dy * qy + dz * qz) / det;
  if (t < 0 || s + t > 1) return Infinity;
  const distance = (vx * qx + vy * qy + vz * qz) / det;
  return distance > 0 ? distance : Infinity;
}

/**
 * First facet that a ray meets: {face, distance}, or null. Origin, way: three numbers.
 * isKept(x, y, z) says whether a point of the surface is there to be met.
 * The tree is grown when a mesh is first asked.
 */
export function meet(mesh, origin, way, isKept) {
  if (!mesh.tree) mesh.tree = grow(mesh);
  const { points, faces } = mesh, { order, leaves, boxes } = mesh.tree;
  const slow = way.map((value) => 1 / (Math.abs(value) < 1e-12 ? 1e-12 : value));
  let best = Infinity, face = -1;
  const stack = [1, enter(boxes, 1, origin, slow)];
  while (stack.length) {
    const near = stack.pop();
    let node = stack.pop();
    if (near >= best) continue;
    if (node < leaves) {
      node *= 2;
      const one = enter(boxes, node, origin, slow), other = enter(boxes, node + 1, origin, slow);
      // The nearer one is looked into first.
      if (one < other) stack.push(node + 1, other, node, one); else stack.push(node, one, node + 1, other);
      continue;
    }
    const from = LEAF * (node - leaves), to = Math.min(from + LEAF, order.length);
    for (let k = from; k < to; k += 1) {
      const distance = reach(points, faces, 3 * order[k], origin, way);
      if (distance >= best) continue;
      if (!isKept(origin[0] + distance * way[0], origin[1] + distance * way[1], origin[2] + distance * way[2])) continue;
      best = distance;
      face = order[k];
    }
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

/**
 * Side from which most of a line on a mesh is seen, and a face that is meant, with the mesh
 * as wide across the picture as it can be.
 *
 * `sides` in the order of liking, `line` points on the mesh, `face` a direction out of the
 * face or null, `width(side)` how wide the mesh looks from there as a share of its widest.
 */
export function bestSide(mesh, sides, { line, face, width, reachMm }) {
  const best = { side: sides[0], worth: -Infinity };
  sides.forEach((side, rank) => {
    let seen = 0;
    for (const at of line) {
      const eye = add(at, side, reachMm);
      const hit = meet(mesh, eye, side.map((value) => -value), () => true);
      if (!hit || hit.distance > 0.99 * reachMm) seen += 1;
    }
    const facing = face ? Math.max(0, dot(face, side)) : 0;
    const worth = seen / Math.max(line.length, 1) + 0.8 * Math.min(facing, 0.7) + 0.7 * width(side) - 0.15 * (rank / sides.length);
    if (worth > best.worth) Object.assign(best, { side, worth });
  });
  return best.side;
}
