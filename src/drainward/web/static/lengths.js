// Trade lengths in the page: read strictly, written as the trade does. What is sent the server reads again.
export const INCH = 0.0254;

const UNITS = { in: INCH, '"': INCH, "″": INCH, mm: 0.001, cm: 0.01, m: 1, ft: 12 * INCH };
const FEET = /^\s*(-?)(\d+)\s*(?:'|′|ft)\s*(?:-?\s*(?:(\d+(?:\.\d+)?)?(?:[- ]?(\d+)\/(\d+))?)\s*("|″|in)?)?\s*$/;
const PLAIN = /^\s*(-?)(\d+(?:\.\d+)?)?(?:[- ]?(\d+)\/(\d+))?\s*("|″|in|mm|cm|m|ft)?\s*$/;

// Metres, or null where it is no length: a number needs its unit, but for 0.
export function metres(text) {
  const feet = FEET.exec(text);
  if (feet) {
    const [, sign, whole, inches, over, under, mark] = feet;
    if ((inches || over) && !mark) return null;
    const size = Number(whole) * 12 + Number(inches ?? 0) + (over ? Number(over) / Number(under) : 0);
    return signed(sign, size * INCH);
  }
  const plain = PLAIN.exec(text);
  if (!plain || (plain[2] === undefined && !plain[3])) return null;
  const [, sign, whole, over, under, unit] = plain, size = Number(whole ?? 0) + (over ? Number(over) / Number(under) : 0);
  if (!unit) return size === 0 || (over && whole === undefined) ? signed(sign, size * INCH) : null;
  return signed(sign, size * UNITS[unit]);
}

const signed = (sign, size) => (sign && size ? -size : size);

// 16ths of an inch, in feet from four feet on; or whole millimetres.
export function written(size, unit = "in") {
  if (unit === "mm") return `${Math.round(size * 1000)} mm`;
  const steps = Math.round(Math.abs(size) / INCH * 16), sign = size < 0 && steps ? "-" : "";
  const feet = steps >= 48 * 16 ? Math.floor(steps / 192) : 0, left = steps - feet * 192;
  let over = left % 16, under = 16;
  while (over && over % 2 === 0) { over /= 2; under /= 2; }
  const whole = Math.floor(left / 16), fraction = over ? `${over}/${under}` : "";
  if (feet) return `${sign}${feet}'-${whole}${fraction && ` ${fraction}`}"`;
  return `${sign}${fraction ? `${whole ? `${whole}-` : ""}${fraction}` : whole}"`;
}
