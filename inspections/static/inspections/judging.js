// A reading judged on the phone, with and without signal, as the server judges it when it is kept.
//
// Nothing that is known of an installation or a standard stands here. Python (`readings.aside`) works out the limits,
// their bases, factors, bounds of what is likely and the sentences beside them for the circuit, the edition and the firm's
// facts of the day, and writes them beside the field; this module reads what was typed and lays it beside them. Working
// out bands of verdicts on the server instead would leave less here, but a ring's r2 is judged by r1, and R1+R2 by Zdb,
// which may have been typed a moment ago without signal, and so may a limit: the bands would have to be worked out here
// again. That both judge alike is tested over thousands of cases (tests/browser/test_judging_alike.py).

import { add, apart, compare, first, full, isZero, minus, number, over, places, plain, times } from "./exact.js";

const LONGEST = 20;
const MOST_PLACES = 6;
const SPACE = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+/;
const SAY_SO = "If the instrument showed exactly this, say so and save again.";
const NO_SOURCE = "Say where the limit is from: the standard and table, or the maker's data.";

// What stands in the way of a verdict: "unreadable", "enter" (a limit is needed), "doubt" (a question).
class Stopped extends Error {
  constructor(result, words) {
    super(words);
    this.result = result;
  }
}
const refuse = (words) => {
  throw new Stopped("unreadable", words);
};
const doubt = (question) => {
  throw new Stopped("doubt", question);
};

// --- what was typed ---

const OK = ["ok", "yes", "y", "pass", "passed", "correct", "✓"];
const NOT_OK = ["not ok", "no", "n", "fail", "failed", "incorrect", "not correct", "wrong", "reversed", "✗"];
const NO_TRIP = ["no trip", "did not trip", "didn't trip", "not tripped", "no operation"];
const UNITS = {
  Ω: { "": "1", Ω: "1", mΩ: "0.001", m: "0.001", kΩ: "1000", k: "1000" },
  MΩ: { "": "1", MΩ: "1", M: "1", GΩ: "1000", G: "1000", kΩ: "0.001", k: "0.001", Ω: "0.000001" },
  ms: { "": "1", ms: "1", s: "1000" },
  kA: { "": "1", kA: "1", ka: "1", A: "0.001", a: "0.001" },
};
const EXAMPLES = {
  Ω: 'Enter ohms as the tester shows them, such as 0.35 or ">1999".',
  MΩ: 'Enter megohms as the tester shows them, such as 12.5 or ">200".',
  ms: "Enter milliseconds as the tester shows them, such as 28, or “no trip”.",
  kA: "Enter kiloamperes as the tester shows them, such as 1.2.",
};
const NUMBER = /^(>?) *(\d+(?:\.\d+)?|\.\d+) *([^ \d.]*)$/;

const plainUnit = (typed) => {
  const lower = typed.toLowerCase();
  return /ohms?$/.test(lower) ? `${typed.slice(0, lower.indexOf("ohm"))}Ω` : typed;
};
// {number, above} | {noTrip} | {ok}, in the unit of the quantity. Stopped with a sentence for what is no reading of it.
export const readTyped = ({ q, unit, label }, typed) => {
  const words = typed.replaceAll("\u2126", "Ω").split(SPACE).filter(Boolean).join(" ");
  if (!unit) {
    const answer = words.toLowerCase();
    if (![...OK, ...NOT_OK].includes(answer)) refuse("Answer OK or not OK.");
    return { ok: OK.includes(answer) };
  }
  if (q === "rcd-time" && NO_TRIP.includes(words.toLowerCase())) return { noTrip: true };
  if (/^[-−–] ?[\d.]/.test(words)) refuse(`No instrument shows a negative value here: check the ${label}.`);
  const found = [...words].length <= LONGEST && NUMBER.exec(words);
  const written = found && plainUnit(found[3]);
  if (!found || !Object.hasOwn(UNITS[unit], written)) refuse(EXAMPLES[unit]);
  const factor = UNITS[unit][written];
  const value = number(found[2]);
  return { number: factor === "1" ? value : times(value, number(factor)), above: found[1] === ">" };
};
export const shownAs = ({ number: value, above, noTrip, ok }, unit) => {
  if (value) return `${above ? ">" : ""}${full(value)} ${unit}`.trim();
  if (noTrip) return "no trip";
  return ok ? "OK" : "not OK";
};

// --- limits ---

const sensible = (value) => value.n > 0n && first(value) > -7 && first(value) < 7;
const down = (ohms) => places(ohms, compare(ohms, number("100")) >= 0 ? 0 : 2, "down");
// A limit as it was sent: numbers in place of text.
const bound = (sent) => sent && { ...sent, least: sent.least && number(sent.least), most: sent.most && number(sent.most) };
const holds = ({ least, most }, value) => !(least && compare(value, least) < 0) && !(most && compare(value, most) > 0);
const shownLimit = (limit, unit) => {
  if (limit.said) return limit.said;
  const ohms = unit === "Ω";
  const least = limit.least && full(ohms ? places(limit.least, 2, "up") : limit.least);
  const most = limit.most && full(ohms ? down(limit.most) : limit.most);
  if (least && most) return `${least} to ${most} ${unit}`;
  return least ? `at least ${least} ${unit}` : `at most ${most} ${unit}`;
};
const amountOf = (how) => {
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(how.limit)) refuse("Write the limit as a number, such as 1.09.");
  return number(how.limit);
};
const inRange = (how) => {
  const amount = amountOf(how);
  const fits = compare(amount, number("0.0001")) > 0 && compare(amount, number("1000000")) < 0;
  if (!fits) refuse("No limit is as small or as large as that: check what you entered.");
};
// 0.8 × what was entered, by the firm's rounding; the conductor was cold unless the limit is corrected for it already.
const cold = (ohms, factor, rounding) => {
  if (!compare(factor, number("1"))) return ohms;
  if (rounding === "tabulated") return times(factor, places(ohms, 2, "half up"));
  if (rounding === "down") return places(times(factor, ohms), 2, "down");
  if (rounding === "nearest") return places(times(factor, ohms), 2, "half up");
  return times(factor, ohms);
};
const enteredLimit = (at, how) => {
  const amount = amountOf(how);
  const loop = at.rule === "loop";
  if (!sensible(amount)) refuse(`The limit must be a number ${loop ? "of ohms " : ""}above 0.`);
  const source = how.source.trim();
  if (!source) refuse(NO_SOURCE);
  if (!loop) return { most: amount, basis: `${full(amount)} ${at.unit}: entered from ${source}` };
  const factor = how.corrected ? number("1") : number(at.factor);
  const one = !compare(factor, number("1"));
  const words = `${one ? "" : `${at.factor} × `}${full(amount)} Ω: entered from ${source}`;
  const conductor = one ? "conductor at operating temperature" : "conductor cold";
  const corrected = how.corrected ? "already corrected for a cold conductor" : conductor;
  return { most: cold(amount, factor, at.rounding), basis: `${words}, ${corrected}` };
};
// {limit, enter, other}: a limit that is typed here goes before what the record gives.
const limitsOf = (at, how) =>
  how.limit ? { limit: enteredLimit(at, how) } : { limit: bound(at.limit), enter: at.enter, other: bound(at.other) };
const need = ({ limit, enter }) => {
  if (enter) throw new Stopped("enter", enter);
  return limit;
};

// --- verdicts ---

const verdict = (result, sentence, { limit = null, warnings = [], unit = "" } = {}) => {
  const passes = result !== "fail";
  const said = passes ? warnings.join(" ") : sentence;
  return { result, sentence, words: passes && !warnings.length ? (limit ? shownLimit(limit, unit) : "") : said };
};
const noted = (words, warnings = []) =>
  verdict(warnings.length ? "warning" : "noted", [words, ...warnings].join(" "), { warnings });
const passed = (words, warnings = [], about = {}) =>
  verdict(warnings.length ? "warning" : "pass", [words, ...warnings].join(" "), { ...about, warnings });

const numberOf = (at, value) => {
  const { number: read } = value;
  if (!sensible(read) && !(at.zero && isZero(read))) {
    const short = Math.abs(first(read)) < 10 ? full(read) : "that";
    refuse(`No instrument shows ${short} ${at.unit}: check the ${at.shows ?? at.label}.`);
  }
  return read;
};
const unlikely = (read, at) => {
  const said = (side, other) => `${full(read)} ${at.unit} is very ${side} here: did you mean ${plain(other)} ${at.unit}?`;
  if (!isZero(read) && compare(read, number(at.low)) < 0) return said("low", times(read, number("1000")));
  if (compare(read, number(at.high)) > 0) return said("high", times(read, number("0.001")));
  return "";
};
const askIf = (question, how) => {
  if (question && !how.asRead) doubt(question);
};
const warned = (value, warns = []) =>
  warns
    .filter(({ above, below, inRange: within }) => {
      if (within && value.above) return false;
      return (above && compare(value.number, number(above)) > 0) || (below && compare(value.number, number(below)) < 0);
    })
    .map(({ words }) => words);

const relation = (read, limit, passes, unit) => {
  const { least, most } = limit;
  if (passes && least && most) return `is within ${shownLimit(limit, unit)}`;
  if (least && compare(read, least) < 0) return `is below ${full(least)} ${unit}`;
  if (!most) return `is not below ${full(least)} ${unit}`;
  const shown = unit === "Ω" ? down(most) : most;
  const said = passes && compare(read, shown) > 0 ? most : shown;
  return `is ${passes ? "within" : "above"} ${full(said)} ${unit}`;
};
const byLimit = (value, unit, limit, warnings = []) => {
  const { number: read, above } = value;
  const short = limit.most ?? limit.least;
  if (above && compare(read, short) < 0) {
    doubt(`The tester's range ends at ${full(read)} ${unit}, so this cannot tell: measure in a higher range.`);
  }
  const passes = holds(limit, read) && !(above && limit.most);
  const words = `${shownAs(value, unit)} ${relation(read, limit, passes, unit)}. Limit: ${limit.basis}.`;
  if (!passes) return verdict("fail", words);
  return passed(words, [...warnings, limit.unsure].filter(Boolean), { limit, unit });
};

// --- each kind's own rule ---

const answer = (at, { ok }) => {
  const words = `${at.label[0].toUpperCase()}${at.label.slice(1)}: ${ok ? "OK" : "not OK"}.`;
  return verdict(ok ? "pass" : "fail", words);
};

// Insulation, RCD times, electrodes, fault currents, Ze: a number beside bounds.
const bounds = (given, value, how) => {
  const { entered, ...rest } = given;
  const at = { ...rest, ...(how.limit && entered) };
  const timed = at.held;
  const early = timed && limitsOf(at, how);
  if (early?.limit && (value.noTrip || (value.above && timed.half))) return held(at, value, early.limit);
  if (value.noTrip) need(early);
  const read = numberOf(at, value);
  askIf(value.above ? "" : unlikely(read, at), how);
  const found = early ?? (at.asked ? { limit: bound(at.limit) } : limitsOf(at, how)); // no limit of insulation is entered
  const low = at.asked && how.volts && Number(how.volts) < at.asked;
  const warnings = [
    ...(low ? [`It was tested at ${how.volts} V, where ${at.asked} V is asked for.`] : []),
    ...(at.loop && !value.above ? belowLoop(read, at.loop, how) : []),
    ...warned(value, at.warn),
  ];
  const limit = need(found);
  if (!limit) return noted(at.noted.replace("{value}", shownAs(value, at.unit)), warnings);
  return byOther(byLimit(value, at.unit, limit, warnings), value, found.other, at);
};
const byOther = (judged, value, other, at) => {
  if (judged.result !== "fail" || !other || value.above || !holds(other, value.number)) return judged;
  return { ...judged, sentence: `${judged.sentence} ${at.other.words}`, words: `${judged.words} ${at.other.words}` };
};
const held = (at, value, limit) => {
  const shown = shownAs(value, "ms");
  const words = `${shown[0].toUpperCase()}${shown.slice(1)} at ${at.held.at}. Limit: ${limit.basis}.`;
  if (!at.held.half) return verdict("fail", words);
  const ended = value.number && limit.least && compare(value.number, times(number(at.held.waited), limit.least)) < 0;
  return passed(words, ended ? [at.held.short] : [], { limit, unit: "ms" });
};
const belowLoop = (read, { volts, share, of }, how) => {
  for (const ohms of of.map((one) => how.others[one])) {
    if (!ohms || !sensible(ohms)) continue;
    const computed = over(over(number(volts), ohms), number("1000"));
    if (compare(read, times(number(share), computed)) >= 0) continue;
    const shown = full(places(computed, 2, "down"));
    return [`${full(ohms)} Ω gives ${shown} kA, more than was read: the highest at the point counts.`];
  }
  return [];
};

// Loop impedance at a circuit and at a board.
const loop = (at, value, how) => {
  const found = limitsOf(at, how);
  const { number: read, above } = value;
  if (!sensible(read)) refuse("A loop impedance is more than 0 Ω, and no tester shows megohms: check the reading.");
  const limit = need(found);
  const { most } = limit;
  const within = compare(read, most) <= 0;
  const range = `The tester's range ends at ${full(read)} Ω, below the limit of ${full(down(most))} Ω: measure again in a higher range.`;
  if (above && compare(read, most) < 0) doubt(range);
  if (!above) askIf(loopQuestion(at, read, most, how), how);
  if (!within || above) return loopFails(read, limit, found.other, above);
  const shown = down(most);
  const said = compare(read, shown) <= 0 ? full(shown) : plain(most);
  const warns = how.limit ? [] : warned(value, at.warn);
  const behind = limit.byRcd && at.behind;
  const warnings = [...warns, limit.unsure, behind].filter(Boolean);
  return passed(`${full(read)} Ω is within ${said} Ω. Limit: ${limit.basis}.`, warnings, { limit, unit: "Ω" });
};
const loopQuestion = (at, read, most, how) => {
  const thousand = times(read, number("1000"));
  const low = compare(read, number(at.low)) < 0 || (at.ground && !how.limit && compare(thousand, most) <= 0);
  if (low) return `${full(read)} Ω is very low here: did you mean ${plain(thousand)} Ω?`;
  if (compare(read, times(number(at.far), most)) < 0) return "";
  return `${full(read)} Ω is very high here: did you mean ${plain(times(read, number("0.001")))} Ω?`;
};
const loopFails = (read, limit, other, above) => {
  const words = `${above ? "More than " : ""}${full(read)} Ω is above ${full(down(limit.most))} Ω. Limit: ${limit.basis}.`;
  if (above || !other?.byRcd || compare(read, other.most) > 0) return verdict("fail", words);
  const rests = "whether fault protection may rest on the RCD is for a qualified person to decide.";
  return verdict("fail", `${words} It is within ${full(down(other.most))} Ω for the RCD: ${rests}`);
};

// Continuity: what the length should read, and the loop that it leads to.
const about = (ohms) => `${full(places(ohms, 2, "half up"))} Ω`;
const near = (read, expected, { tolerance, joints }) =>
  compare(apart(read, expected), add(times(number(tolerance), expected), number(joints))) <= 0;
const broken = (value) => verdict("fail", `${shownAs(value, "Ω")}: no continuity.`);
const loopWords = (read, at, how) => {
  const zdb = how.others["loop-impedance-board"];
  if (!zdb || !at.loop) return null;
  const total = add(zdb, read);
  const most = number(at.loop.most);
  const words = `With Zdb of ${full(zdb)} Ω the loop impedance comes to ${full(total)} Ω, `;
  const fits = compare(total, most) <= 0;
  const end = fits ? `within ${full(down(most))} Ω.` : `above ${full(down(most))} Ω: measure it, it is likely to fail.`;
  return { fits, words: `${words}${end}` };
};
const continuity = (at, value, how) => {
  const read = numberOf(at, value);
  if (value.above) return broken(value);
  askIf(unlikely(read, at), how);
  const { limit } = limitsOf(at, how);
  if (limit) return byLimit(value, "Ω", limit);
  if (at.usual && !at.expected) return bonding(at.usual, value);
  const expected = at.expected && number(at.expected);
  const asExpected = expected && near(read, expected, at);
  const comes = loopWords(read, at, how);
  const said = [];
  if (isZero(read)) said.push("0 Ω is less than any conductor reads: check what the leads were nulled on.");
  if (expected && !asExpected) {
    said.push(`${at.of} should read about ${about(expected)}: check the length, the joints and the sizes.`);
  }
  if (comes && !comes.fits) said.push(comes.words);
  const good = asExpected ? [`${at.of} should read about ${about(expected)}.`] : [];
  if (comes?.fits) good.push(comes.words);
  const words = [`${shownAs(value, "Ω")}.`, ...good].join(" ");
  return said.length || !good.length ? noted(words, said) : verdict("pass", words);
};
const bonding = ({ most, above, within, passes }, value) => {
  const shown = shownAs(value, "Ω");
  if (compare(value.number, number(most)) > 0) return noted(`${shown}.`, [above]);
  return within ? noted(`${shown}.`, [within]) : verdict("pass", `${shown} ${passes}`);
};

// The ends of a ring, and its readings with the ends cross-connected.
const ringRead = (at, value, how) => {
  const read = numberOf(at, value);
  if (!value.above) askIf(unlikely(read, at), how);
  return read;
};
const end = (at, value, how) => {
  ringRead(at, value, how);
  if (value.above) return broken(value);
  const other = how.others[at.partner];
  if (!other) return noted(`${shownAs(value, "Ω")}.`);
  const by = number(at.apart.most);
  const under = minus(other, by);
  const least = under.n < 0n ? number("0") : under;
  const basis = at.apart.basis.replace("{other}", full(other));
  const limit = { least, most: add(other, by), basis, unsure: at.apart.unsure };
  return byLimit(value, "Ω", limit);
};
const protective = (at, value, how) => {
  const read = ringRead(at, value, how);
  if (value.above) return broken(value);
  const r1 = how.others[at.r1];
  const shown = shownAs(value, "Ω");
  if (!r1 || !at.line) return noted(`${shown}.`);
  const expected = over(times(r1, number(at.line)), number(at.cpc));
  const words = `r1 of ${full(r1)} Ω ${at.times} is ${about(expected)}`;
  return near(read, expected, at) ? verdict("pass", `${shown}: ${words}.`) : noted(`${shown}.`, [`${words}: check sizes and joints.`]);
};
const cross = (at, value, how) => {
  const read = ringRead(at, value, how);
  if (value.above) return broken(value);
  const comes = loopWords(read, at, how);
  const warnings = comes && !comes.fits ? [comes.words] : [];
  const [r1, other] = [how.others[at.r1], how.others[at.end]];
  const shown = shownAs(value, "Ω");
  if (!r1 || !other) return noted(`${shown}.`, warnings);
  const total = add(r1, other);
  const fourth = over(total, number("4"));
  const quarter = `(${at.name})/4 is ${about(fourth)}`;
  if (near(read, fourth, at)) return passed(`${shown}: ${quarter}.`, warnings);
  if (compare(read, times(number(at.whole), total)) >= 0) {
    askIf(`${full(read)} Ω is near ${at.name}, ${about(total)}: were the ends cross-connected? ${quarter}.`, how);
  }
  const spur = compare(read, fourth) > 0;
  const why = spur ? "a spur reads higher, and so does a loose joint" : "check the connections";
  return noted(`${shown}.`, [`${quarter}: ${why}.`, ...warnings]);
};
const RULES = { answer, bounds, loop, continuity, end, protective, cross };

// --- the one door ---

const numbers = (others = {}) => Object.fromEntries(Object.entries(others).map(([q, text]) => [q, number(text)]));
const settled = (sent, how) => {
  const edition = sent.editions?.[how.edition] ?? {};
  const at = { ...sent, ...edition };
  return how.connected ? { ...at, ...at.connected } : at;
};
// What was typed, judged. `about`: what stands beside the field (`readings.aside`). `how`: {asRead, volts, connected,
// limit, source, corrected, edition, others: {quantity: "0.35"}}. `words` stand beside the field: short where it passes.
export const judge = (sent, typed, how = {}) => {
  try {
    const at = settled(sent, how);
    const value = readTyped(at, typed);
    if (how.limit) amountOf(how);
    const judged = RULES[at.rule](at, value, { ...how, others: numbers(how.others ?? at.others) });
    if (how.limit) inRange(how);
    if (value.number?.p > MOST_PLACES) refuse("Write the reading with at most six places after the point.");
    return { ...judged, mark: judged.result };
  } catch (stopped) {
    if (!(stopped instanceof Stopped)) throw stopped;
    const { result, message } = stopped;
    if (result === "doubt" && how.limit) {
      try {
        inRange(how);
      } catch (refused) {
        return { result: "unreadable", mark: "", words: refused.message, sentence: refused.message };
      }
    }
    const words = result === "doubt" ? `${message} ${SAY_SO}` : message;
    return { result, mark: "", words, sentence: words };
  }
};
