// Decimal numbers as the server reckons with them: exact, at most 28 digits, half to even beyond that. A binary fraction
// would make 1.0925 and 0.8 × 1.365625 two numbers. A number is {n, p}: the whole number n, of which p places stand after
// the point; the places that were typed stay, as on the server.

const DIGITS = 28;
const ten = (power) => 10n ** BigInt(power);
const size = (n) => (n < 0n ? -n : n).toString().length;

// A whole number divided by another to a whole one.
const divide = (n, by, how) => {
  const whole = n / by;
  const rest = n - whole * by;
  if (!rest) return whole;
  const away = (n < 0n) === (by < 0n) ? 1n : -1n;
  const twice = 2n * (rest < 0n ? -rest : rest);
  const full = by < 0n ? -by : by;
  if (how === "up") return away > 0n ? whole + 1n : whole;
  if (how === "half up") return twice >= full ? whole + away : whole;
  if (how === "even") return twice > full || (twice === full && whole % 2n) ? whole + away : whole;
  return whole;
};
const fixed = ({ n, p }) => {
  const over = size(n) - DIGITS;
  if (over <= 0) return { n, p };
  const cut = { n: divide(n, ten(over), "even"), p: p - over };
  return size(cut.n) > DIGITS ? { n: cut.n / 10n, p: cut.p - 1 } : cut;
};
const alike = (one, other) => {
  const p = Math.max(one.p, other.p);
  return [one.n * ten(p - one.p), other.n * ten(p - other.p), p];
};

export const number = (text) => {
  const [, sign, whole, part = ""] = /^([+-]?)(\d*)(?:\.(\d*))?$/.exec(text);
  return { n: BigInt(`${sign === "-" ? "-" : ""}${whole}${part}` || "0"), p: part.length };
};
export const add = (one, other) => {
  const [n, m, p] = alike(one, other);
  return fixed({ n: n + m, p });
};
export const minus = (one, other) => add(one, { n: -other.n, p: other.p });
export const times = (one, other) => fixed({ n: one.n * other.n, p: one.p + other.p });
export const over = (one, by) => {
  // As many places as give 28 digits or more, and one that says whether anything follows.
  const more = Math.max(0, DIGITS + 2 + size(by.n) - size(one.n));
  const whole = (one.n * ten(more)) / by.n;
  const rest = (one.n * ten(more)) % by.n;
  return fixed({ n: whole * 10n + (rest ? 1n : 0n), p: one.p - by.p + more + 1 });
};
export const compare = (one, other) => {
  const [n, m] = alike(one, other);
  return n < m ? -1 : n > m ? 1 : 0;
};
export const apart = (one, other) => {
  const { n, p } = minus(one, other);
  return { n: n < 0n ? -n : n, p };
};
export const isZero = ({ n }) => n === 0n;

// To so many places: "down", "up" (to the larger), "half up", "even".
export const places = ({ n, p }, wanted, how) =>
  p <= wanted ? { n: n * ten(wanted - p), p: wanted } : { n: divide(n, ten(p - wanted), how), p: wanted };

// Where its first digit stands: 0 for ones, -1 for tenths.
export const first = ({ n, p }) => size(n) - 1 - p;

// In full, with the places it has; `plain` without noughts at the end.
export const full = ({ n, p }) => {
  if (p <= 0) return (n * ten(-p)).toString();
  const digits = (n < 0n ? -n : n).toString().padStart(p + 1, "0");
  return `${n < 0n ? "-" : ""}${digits.slice(0, -p)}.${digits.slice(-p)}`;
};
export const plain = (value) => {
  const text = full(value);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
};
