// The key under the plan: only what it shows, each with a sample drawn by the same ink.
import { Ink, WARN, WATER } from "./ink.js";
import { LIKELY } from "./plan.js";
import { make, trade } from "./tools.js";

// depths : the key of a film that plays below the plan.
export function legend(plan, box, depths = null) {
  const { picture, show } = plan;
  box.replaceChildren();
  if (depths) box.append(...depthKey(depths));
  if (show === "floor") {
    const ramp = make("div", { class: "scale", "aria-hidden": "true" }), ends = make("div", { class: "ends" });
    for (const band of picture.bands) { const part = make("i"); part.style.background = band.colour; ramp.append(part); }
    for (const words of [`low ${trade(picture.scale.low, 32)}`, `lines ${picture.scale.step_label} apart`, `high ${trade(picture.scale.high, 32)}`])
      ends.append(make("span", {}, words));
    box.append(ramp, ends);
  }
  const list = make("ul");
  for (const [there, words, draw] of { floor: floorKey, mortar: mortarKey, water: waterKey }[show](picture)) {
    if (!there) continue;
    const item = make("li"), canvas = make("canvas", { "aria-hidden": "true" }), ratio = devicePixelRatio || 1;
    canvas.width = 42 * ratio;
    canvas.height = 22 * ratio;
    const pen = canvas.getContext("2d");
    pen.scale(ratio, ratio);
    draw(new Ink(pen, (x, y) => [x + 6, y + 11], 42, 22));
    item.append(canvas, make("span", {}, words));
    list.append(item);
  }
  box.append(list);
}

const LINE = { x: 0, y: 0, x2: 30, y2: 0, rejected: false };

function floorKey(picture) {
  const has = (kind) => picture.readings.some((mark) => mark.kind === kind);
  return [
    [picture.next, "read here next, from 1", (ink) => ink.next({ ...LINE, x: 4, x2: 34 })],
    [picture.arrows.length, "water runs this way", (ink) => ink.arrow(15, 0, 1, 0, 12)],
    [picture.ponds.some((pond) => pond.chance >= LIKELY), "water stands, likely", (ink) => ink.hatch(square(), 6, WATER, 2.4)],
    [picture.ponds.some((pond) => pond.chance < LIKELY), "water may stand", (ink) => ink.hatch(square(), 11, WATER, 1.2, true)],
    [picture.high_spots.length, "high spot", (ink) => ink.highSpot(LINE)],
    [picture.falls.length, "least, greatest fall", (ink) => ink.extreme({ x: 15, y: 0 })],
    [has("slope"), "slope read", (ink) => ink.reading({ ...LINE, kind: "slope" })],
    [has("wedge"), "gap read, at the ring", (ink) => ink.reading({ ...LINE, kind: "wedge" })],
    [has("chord"), "straightedge", (ink) => ink.reading({ ...LINE, kind: "chord" })],
    [has("height"), "spot height", (ink) => ink.reading({ ...LINE, x: 15, x2: null, kind: "height" })],
    [picture.readings.some((mark) => mark.rejected), "not used", (ink) => ink.reading({ ...LINE, kind: "chord", rejected: true })],
  ];
}

function depthKey({ marks, gradient }) {
  const ramp = make("div", { class: "depths", "aria-hidden": "true" }), numbers = make("div", { class: "depth-marks" });
  ramp.style.background = gradient;
  let clear = Infinity;
  for (const [depth, share] of marks.reverse()) {
    if (clear - share < 0.19) continue; // words would run into each other on a phone
    clear = share;
    const mark = make("span", {}, trade(depth, 64));
    mark.append(make("small", {}, `${(depth * 1000).toFixed(1)} mm`));
    mark.style.left = `${100 * share}%`;
    numbers.append(mark);
  }
  return [make("p", { class: "depth-title" }, "Depth of the water"), ramp, numbers];
}

function waterKey(picture) {
  const seen = (measured) => picture.seen.some((stain) => (stain.across !== null) === measured);
  return [
    [true, "floor's height lines", (ink) => ink.stroke([[0, 0], [30, 0]], "rgb(90 90 90 / .7)", 1.5)],
    [picture.ponds.some((pond) => pond.chance >= LIKELY), "stays, more likely than not", (ink) => ink.hatch(square(), 6, WATER, 2.4)],
    [picture.ponds.some((pond) => pond.chance < LIKELY), "may stay", (ink) => ink.hatch(square(), 11, WATER, 1.2, true)],
    [seen(true), "puddle seen, as wide as it was", (ink) => ink.stain({ x: 15, y: 0, across: 16 }, 1)],
    [seen(false), "puddle seen, width not measured", (ink) => ink.stain({ x: 15, y: 0, across: null }, 1)],
  ];
}

function mortarKey(picture) {
  const out = (bed) => bed.do.startsWith("take");
  return [
    [picture.mortar.some(out), "take mortar out", (ink) => ink.hatch(square(), 6, WARN, 2)],
    [!picture.mortar.every(out), "put mortar in", (ink) => ink.hatch(square(), 9, WATER, 2, false, -1)],
  ];
}

function square() {
  const path = new Path2D();
  path.rect(2, 3, 38, 16);
  return path;
}
