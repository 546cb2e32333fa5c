// A storey as it is drawn: its things, and pure geometry on them: snapping, lengthening, doors on walls. Metres, y up.
import { metres, written } from "./lengths.js";

export const KINDS = ["wall", "door", "ceiling", "start", "goal"];
export const THICKNESS = 0.1143;
const SAME = 1e-6, ON_WALL = 0.15;

export const dist = (a, b) => Math.hypot(b.x - a.x, b.y - a.y);
export const same = (a, b) => dist(a, b) < SAME;

// A point where a length is written: what is drawn is what is saved, to a sixteenth.
export function point(x, y, unit) {
  const tx = written(x, unit), ty = written(y, unit);
  return { x: metres(tx), y: metres(ty), tx, ty };
}

// Rows of the file to things, each with its points in order; rows that are no points stay aside and are sent as they are.
export function things(rows) {
  const found = new Map(), aside = [];
  for (const { line, cells, point: at, thickness } of rows) {
    if (!at) { aside.push({ line, cells }); continue; }
    const kind = key(cells.kind), name = key(cells.name ?? ""), id = `${kind}|${name}`;
    if (!found.has(id)) found.set(id, { kind, name: cells.name ?? "", points: [], thickness: null });
    const thing = found.get(id);
    thing.points.push({ x: at[0], y: at[1], tx: cells.x, ty: cells.y, line, cells });
    thing.thickness ??= thickness;
  }
  return { list: [...found.values()], aside };
}

// How the server tells two names apart: whatever the capitals or blanks.
export const key = (text) => text.normalize("NFKC").trim().replace(/\s+/g, " ").toLowerCase();

// A thing's own cell: the first of its rows that has one.
export const cell = (thing, name) => thing.points.map(({ cells }) => cells?.[name]).find(Boolean) ?? "";

export function setCell(thing, name, text) {
  thing.points.forEach((at, n) => { at.cells = { ...at.cells, [name]: n ? "" : text }; });
  if (name === "thickness") thing.thickness = metres(text);
}

// What is sent: each point's cells with its place, the rows that were no points untouched.
export function rows(list, aside) {
  const sent = list.flatMap((thing) => thing.points.map((at) => ({
    line: at.line ?? null,
    cells: { ...at.cells, kind: at.cells?.kind ?? thing.kind, name: thing.name, x: at.tx, y: at.ty },
  })));
  return [...sent, ...aside.map(({ line }) => ({ line, cells: null }))];
}

// The lowest number that no thing of the kind bears.
export function freeName(list, kind) {
  const taken = new Set(list.filter((thing) => thing.kind === kind).map(({ name }) => key(name)));
  for (let n = 1; ; n += 1) if (!taken.has(`${n}`)) return `${n}`;
}

export const legs = (thing) => thing.points.slice(1).map((end, n) => [thing.points[n], end]);
export const closed = ({ points }) => points.length > 3 && same(points[0], points.at(-1));

// Where p lies along a to b, 0 to 1, and how far off, m.
export function onLeg(p, [a, b]) {
  const dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy || 1;
  const share = ((p.x - a.x) * dx + (p.y - a.y) * dy) / square, held = Math.min(1, Math.max(0, share));
  return { share, off: Math.hypot(p.x - a.x - held * dx, p.y - a.y - held * dy) };
}

// The wall and leg that a door lies on, and how far its ends are from the leg's first corner; null where on none.
export function wallOf(list, door) {
  let best = null;
  for (const wall of list.filter(({ kind }) => kind === "wall")) {
    legs(wall).forEach((leg, n) => {
      const [a, b] = door.points.map((end) => onLeg(end, leg)), long = dist(...leg);
      const off = Math.max(a.off, b.off);
      if (off <= ON_WALL && Math.min(a.share, b.share) > -1e-6 && Math.max(a.share, b.share) < 1 + 1e-6 && (!best || off < best.off)) {
        best = { wall, leg, n, off, long, from: [a.share * long, b.share * long] };
      }
    });
  }
  return best;
}

export const along = ([a, b], far) => { const share = far / dist(a, b); return { x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y) }; };

// Only what moves is written anew: the other place keeps its words.
export function put(at, { x, y }, unit) {
  const p = point(x, y, unit);
  if (Math.abs(x - at.x) > SAME) Object.assign(at, { x: p.x, tx: p.tx });
  if (Math.abs(y - at.y) > SAME) Object.assign(at, { y: p.y, ty: p.ty });
}

// Moves corners by their old place; what hangs on them goes along: other ends there, doors, and ends that stand on the wall.
// moved : corners as [old place, new place]
export function carry(list, moved, unit) {
  const steps = moved.map(([from, to]) => [{ ...from }, { ...to }]), step = (at) => steps.find(([from]) => same(from, at));
  const ends = list.filter(({ kind }) => kind !== "door" && kind !== "start").flatMap(({ points }) => points);
  const walls = list.filter(({ kind }) => kind === "wall").flatMap(legs).map((leg) => ({ leg, was: leg.map(({ x, y }) => ({ x, y })) }));
  const standing = ends.filter((at) => !step(at)).map((at) => ({ at, on: walls.find(({ leg }) => !leg.includes(at) && between(at, leg)) })).filter(({ on }) => on);
  const doors = list.filter(({ kind }) => kind === "door").map((door) => ({ door, at: wallOf(list, door) })).filter(({ at }) => at);
  for (const one of doors) one.was = one.at.leg.map(({ x, y }) => ({ x, y }));
  for (const at of ends) { const found = step(at); if (found) put(at, found[1], unit); }
  for (const { at, on } of standing) {
    if (same(on.was[0], on.leg[0]) && same(on.was[1], on.leg[1])) continue;
    put(at, along(on.leg, onLeg(at, on.leg).share * dist(...on.leg)), unit);
  }
  for (const { door, at, was } of doors) {
    const [a, b] = at.leg, first = same(was[0], a), last = same(was[1], b);
    if (first && last) continue;
    // It keeps its distance from the corner that stayed, else from the first.
    const long = dist(a, b), shift = !first && last ? long - at.long : 0, low = Math.min(...at.from), width = Math.abs(at.from[1] - at.from[0]);
    const held = Math.max(0, Math.min(low + shift, long - width)) - low;
    at.from.forEach((far, n) => put(door.points[n], along(at.leg, far + held), unit));
  }
}

function between(at, leg) {
  const { share, off } = onLeg(at, leg);
  return off < 1e-3 && share > SAME && share < 1 - SAME;
}

// A leg made as long as it was measured: its far end moves, and all that comes after it. In a closed outline what comes
// after moves until a leg that runs the same way takes it up, so that the outline stays closed and square.
export function lengthen(list, wall, n, long, unit) {
  const { points } = wall, ring = closed(wall), corners = points.length - (ring ? 1 : 0);
  const [a, b] = [points[n], points[n + 1]], share = long / dist(a, b) - 1, by = { x: (b.x - a.x) * share, y: (b.y - a.y) * share };
  const moved = [], last = ring ? corners - 1 : corners - n - 1;
  for (let k = 0; k < last; k += 1) {
    const at = points[(n + 1 + k) % corners], next = points[(n + 2 + k) % corners];
    moved.push([{ x: at.x, y: at.y }, { x: at.x + by.x, y: at.y + by.y }]);
    if (ring && Math.abs((next.x - at.x) * by.y - (next.y - at.y) * by.x) < SAME * Math.hypot(by.x, by.y)) break;
  }
  carry(list, moved, unit);
}

// Where a touch means: an end that is there, else straight from `from` and level with other ends, else a wall, else the grid.
// reach : m; grid : m. Gives a point with what it was caught by.
export function snapped(list, raw, { from = null, grid, reach, unit, skip = null }) {
  const ends = list.filter(({ kind }) => kind === "wall" || kind === "ceiling").flatMap(({ points }) => points).filter((end) => end !== skip && !(skip && same(end, skip)));
  const end = ends.filter((other) => dist(other, raw) < reach && !(from && same(from, other))).sort((p, q) => dist(p, raw) - dist(q, raw))[0];
  if (end && !skew(from, end)) return { x: end.x, y: end.y, tx: end.tx, ty: end.ty, by: "end" };
  const rounded = (value, base = 0) => base + Math.round((value - base) / grid) * grid;
  const level = (value, axis) => ends.map((other) => other[axis]).filter((other) => Math.abs(other - value) < reach * 0.7).sort((p, q) => Math.abs(p - value) - Math.abs(q - value))[0];
  const caught = wallAt(list, raw, reach, from);
  if (from) {
    const dx = raw.x - from.x, dy = raw.y - from.y, flat = Math.abs(dy) < Math.abs(dx) * 0.3, steep = Math.abs(dx) < Math.abs(dy) * 0.3;
    if (flat || steep) {
      const axis = flat ? "x" : "y", to = caught?.[axis] ?? level(raw[axis], axis) ?? rounded(raw[axis], from[axis]), p = point(to, to, unit);
      return flat ? { x: p.x, tx: p.tx, y: from.y, ty: from.ty, by: "right angle" } : { x: from.x, tx: from.tx, y: p.y, ty: p.ty, by: "right angle" };
    }
  }
  if (end) return { x: end.x, y: end.y, tx: end.tx, ty: end.ty, by: "end" };
  if (caught) return { ...point(caught.x, caught.y, unit), by: "wall" };
  return { ...point(level(raw.x, "x") ?? rounded(raw.x), level(raw.y, "y") ?? rounded(raw.y), unit), by: "grid" };
}

// Whether a leg to an end would stand a little askew: then a right angle is meant.
function skew(from, end) {
  if (!from) return false;
  const dx = Math.abs(end.x - from.x), dy = Math.abs(end.y - from.y), less = Math.min(dx, dy);
  return less > SAME && less < 0.1 * Math.max(dx, dy);
}

// The place on the middle line of a wall near a touch; along a leg from `from`, where both cross.
function wallAt(list, raw, reach, from) {
  for (const wall of list.filter(({ kind }) => kind === "wall")) {
    for (const leg of legs(wall)) {
      const { share, off } = onLeg(raw, leg);
      if (off > reach || share < 0 || share > 1 || (from && onLeg(from, leg).off < SAME)) continue;
      return along(leg, share * dist(...leg));
    }
  }
  return null;
}

export function box(list) {
  const all = list.flatMap(({ points }) => points);
  if (!all.length) return null;
  const xs = all.map(({ x }) => x), ys = all.map(({ y }) => y);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}
