// Moving a visit in the diary: by pointer, or by keyboard (M takes it, arrows and Page Up and Down move it, Enter puts it,
// Escape leaves it). The server decides; what it refuses is told in place, and the block stays where it was.

const QUARTER = 15;
const NEAR = 6; // pixels that a press may tremble before it drags
const SVG = "http://www.w3.org/2000/svg";
const board = document.querySelector("[data-moves]");
const told = document.querySelector("[data-told]");
const ask = document.querySelector("[data-ask]");

const pad = (number) => String(number).padStart(2, "0");
const clock = (minute) => `${pad(Math.floor(minute / 60))}:${pad(minute % 60)}`;
const say = (words) => (told.textContent = words);

class Cell {
  constructor(group) {
    this.group = group;
    this.svg = group.closest("[data-diary]");
    Object.assign(this, group.dataset);
    this.first = Number(this.svg.dataset.first);
    this.last = Number(this.svg.dataset.last);
    this.edge = Number(this.svg.dataset.pad);
    this.across = "across" in this.svg.dataset;
  }
  get box() {
    const rect = this.group.querySelector(".cell");
    return Object.fromEntries(["x", "y", "width", "height"].map((name) => [name, Number(rect.getAttribute(name))]));
  }
  get length() {
    return (this.across ? this.box.width : this.box.height) - 2 * this.edge;
  }
  has(x, y) {
    const { left, right, top, bottom } = this.group.querySelector(".cell").getBoundingClientRect();
    return x >= left && x < right && y >= top && y < bottom;
  }
  // The minute of the day under a point of the screen.
  minuteAt(x, y) {
    const { left, top } = this.group.querySelector(".cell").getBoundingClientRect();
    const along = (this.across ? x - left : y - top) - this.edge;
    return this.first + (along * (this.last - this.first)) / this.length;
  }
  // The rectangle of `start` up to `end` in the drawing's own pixels.
  stretch(start, end) {
    const at = (minute) => ((Math.min(Math.max(minute, this.first), this.last) - this.first) * this.length) / (this.last - this.first);
    const { x, y, width, height } = this.box;
    const [low, size] = [this.edge + at(start), Math.max(at(end) - at(start), 12)];
    return this.across ? { x: x + low, y: y + this.edge, width: size, height: height - 2 * this.edge } : { x: x + this.edge, y: y + low, width: width - 2 * this.edge, height: size };
  }
}

const cells = board ? [...board.querySelectorAll("[data-cell]")].map((group) => new Cell(group)) : [];
const cellOf = (block) => cells.find((cell) => cell.group === block.closest("[data-cell]"));
const days = [...new Set(cells.map((cell) => cell.day))].sort();
const people = [...new Set(cells.map((cell) => cell.engineer))];
const cellAt = (engineer, day) => cells.find((cell) => cell.engineer === engineer && cell.day === day);

// A visit on its way: whose it was, where it is now.
class Taken {
  constructor(block) {
    this.block = block;
    this.from = this.cell = cellOf(block);
    this.start = Number(block.dataset.start);
    this.begun = this.start;
    this.minutes = Number(block.dataset.minutes);
    block.classList.add("taken");
  }
  to(cell, minute) {
    const latest = 24 * 60 - QUARTER;
    this.cell = cell ?? this.cell;
    this.start = Math.min(Math.max(Math.round(minute / QUARTER) * QUARTER, 0), latest);
    this.show();
  }
  get moved() {
    return this.cell !== this.from || this.start !== this.begun;
  }
  get words() {
    return `${this.block.dataset.name}: ${this.cell.label}, ${clock(this.start)}`;
  }
  show() {
    this.hide();
    const box = this.cell.stretch(this.start, this.start + this.minutes);
    this.ghost = document.createElementNS(SVG, "g");
    const rect = document.createElementNS(SVG, "rect");
    for (const [name, value] of Object.entries(box)) rect.setAttribute(name, value);
    rect.setAttribute("class", "ghost");
    const words = document.createElementNS(SVG, "text");
    words.setAttribute("class", "ghost-words");
    words.setAttribute("x", box.x + 4);
    words.setAttribute("y", box.y + 12);
    words.textContent = clock(this.start);
    this.ghost.append(rect, words);
    this.cell.svg.append(this.ghost);
  }
  hide() {
    this.ghost?.remove();
  }
  leave() {
    this.hide();
    this.block.classList.remove("taken");
  }
}

let taken = null; // by keyboard or pointer
let pressed = null; // a press that may become a drag
let dragged = false; // the click that ends a drag opens nothing
let pending = null; // what waits for a reason

function leave(words) {
  taken?.leave();
  taken = null;
  if (words) say(words);
}

// Who goes then: the others as they are, the one of this row replaced by the one of that.
function goers(move) {
  const ids = (move.block.dataset.engineers || move.from.engineer).split(" ");
  return [...new Set(ids.map((id) => (id === move.from.engineer ? move.cell.engineer : id)))];
}

async function put(move, more = {}) {
  const { dataset } = move.block;
  const form = new FormData();
  form.set("csrfmiddlewaretoken", board.querySelector("[name=csrfmiddlewaretoken]").value);
  form.set("start", `${move.cell.day}T${clock(move.start)}`);
  form.set("minutes", dataset.minutes);
  form.set("version", dataset.version);
  form.set("next", board.dataset.here);
  goers(move).forEach((id) => form.append("engineers", id));
  for (const [name, value] of Object.entries(more)) form.set(name, value);
  say(`Moving ${move.words} …`);
  try {
    const answer = await fetch(dataset.move, { method: "POST", body: form, headers: { "X-Diary": "drawing" } });
    const body = answer.headers.get("Content-Type")?.includes("json") ? await answer.json() : null;
    if (body?.address) return location.assign(body.address);
    refused(move, more, body?.errors ?? { start: "The service did not move it: load the page again." });
  } catch {
    refused(move, more, { start: "There is no connection: it stays where it was." });
  }
}

// In place: why not, and the way to say why all the same where the server takes a reason.
function refused(move, more, errors) {
  const field = "reason" in errors ? "reason" : "despite" in errors ? "despite" : "";
  wonder(move, more, field, Object.values(errors).join(" "));
  say("");
}

function wonder(move, more, field, sentence) {
  move.leave();
  pending = { move, more, field };
  ask.hidden = false;
  ask.querySelector("[data-ask-head]").textContent = field ? `To be moved: ${move.words}` : `Not moved: ${move.block.dataset.name}`;
  ask.querySelector("[data-ask-sentence]").textContent = sentence;
  ask.querySelector("[data-ask-field]").hidden = !field;
  ask.querySelector("[data-ask-go]").hidden = !field;
  ask.querySelector("[data-ask-label]").textContent = field === "despite" ? "Why it is moved there all the same" : "Why it is moved";
  ask.querySelector("[data-ask-why]").value = more[field] ?? "";
  (field ? ask.querySelector("[data-ask-why]") : ask.querySelector("[data-ask-head]")).focus();
}

function drop() {
  const move = taken;
  taken = null;
  move.leave();
  if (!move.moved) return say("It stays where it was.");
  const later = move.cell.day !== move.from.day || move.start !== move.begun;
  if (move.block.dataset.confirmed && later) return wonder(move, {}, "reason", "The customer has agreed to the present time: they must be asked again.");
  put(move);
}

function unasked() {
  const block = pending?.move.block;
  ask.hidden = true;
  pending = null;
  say("It stays where it was.");
  block?.focus();
}

ask?.addEventListener("submit", (event) => {
  event.preventDefault();
  const { move, more, field } = pending;
  const why = ask.querySelector("[data-ask-why]").value.trim();
  if (!why) return ask.querySelector("[data-ask-why]").focus();
  ask.hidden = true;
  put(move, { ...more, [field]: why });
});
ask?.querySelector("[data-ask-leave]").addEventListener("click", unasked);
ask?.addEventListener("keydown", (press) => press.key === "Escape" && unasked());

// --- by pointer

board?.addEventListener("pointerdown", (press) => {
  const block = press.target.closest("[data-move]");
  dragged = false;
  if (!block || press.button !== 0 || press.pointerType === "touch") return;
  const cell = cellOf(block);
  pressed = { block, x: press.clientX, y: press.clientY, offset: cell.minuteAt(press.clientX, press.clientY) - Number(block.dataset.start) };
});
board?.addEventListener("dragstart", (start) => start.target.closest?.("[data-move]") && start.preventDefault());
addEventListener("pointermove", (move) => {
  if (!pressed) return;
  if (!dragged) {
    if (Math.hypot(move.clientX - pressed.x, move.clientY - pressed.y) < NEAR) return;
    leave();
    dragged = true;
    taken = new Taken(pressed.block);
  }
  if (!taken) return;
  const cell = cells.find((one) => one.has(move.clientX, move.clientY));
  if (cell) taken.to(cell, cell.minuteAt(move.clientX, move.clientY) - pressed.offset);
});
addEventListener("pointerup", (up) => {
  const over = pressed && cells.some((one) => one.has(up.clientX, up.clientY));
  if (pressed && dragged && taken) over ? drop() : leave("It stays where it was.");
  pressed = null;
});
addEventListener("pointercancel", () => {
  if (pressed && dragged) leave("It stays where it was.");
  pressed = null;
});
board?.addEventListener("click", (click) => {
  if (dragged && click.target.closest("[data-move]")) click.preventDefault();
  dragged = false;
}, true);

// --- by keyboard

const STEPS = { ArrowUp: [0, -QUARTER, 0], ArrowDown: [0, QUARTER, 0], ArrowLeft: [-1, 0, 0], ArrowRight: [1, 0, 0], PageUp: [0, 0, -1], PageDown: [0, 0, 1] };

function step([daysOn, minutes, rows]) {
  const day = days[days.indexOf(taken.cell.day) + daysOn];
  const person = people[people.indexOf(taken.cell.engineer) + rows];
  const cell = day && person && cellAt(person, day);
  if (!cell) return say("There is nothing further that way.");
  taken.to(cell, taken.start + minutes);
  taken.cell.group.scrollIntoView({ block: "nearest", inline: "nearest" });
  say(`${taken.words}. Enter puts it there, Escape leaves it.`);
}

addEventListener("keydown", (press) => {
  if (press.key === "Escape" && taken) {
    press.preventDefault();
    pressed = null;
    return leave("It stays where it was.");
  }
  const block = press.target.closest?.("[data-move]");
  if (!block || press.ctrlKey || press.metaKey || press.altKey) return;
  if (press.key.toLowerCase() === "m" && !taken) {
    press.preventDefault();
    taken = new Taken(block);
    taken.show();
    return say(`Taken: ${taken.words}. Arrows and Page Up and Down move it, Enter puts it there, Escape leaves it.`);
  }
  if (!taken || taken.block !== block) return;
  if (press.key === "Enter") {
    press.preventDefault();
    return drop();
  }
  if (press.key in STEPS) {
    press.preventDefault();
    step(STEPS[press.key]);
  }
});
board?.addEventListener("focusout", (out) => taken && !dragged && out.target === taken.block && leave("It stays where it was."));
