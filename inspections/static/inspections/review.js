// The review by keyboard. Keys with a letter work only on the card that has the focus, and never while somebody types;
// after a decision the focus goes on to the next card that nobody has decided on, after the last one to the count.

const CARD = "[data-card]";
const cards = () => [...document.querySelectorAll(CARD)];
const undecided = () => [...document.querySelectorAll("[data-undecided]")];
const typing = (part) => part.closest("textarea, select, [contenteditable], input:not([type=radio], [type=checkbox])");
const follows = (card) => (other) => card.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING;
let lastDecided = "";

const stand = (card) => {
  card?.focus({ preventScroll: true });
  card?.scrollIntoView({ block: "nearest" });
};
const step = (from, by) => {
  const all = cards();
  const now = all.indexOf(from);
  stand(now < 0 ? (undecided()[0] ?? all[0]) : all[now + by]);
};
const choose = (card, key) => {
  const choice = card.querySelector(`input[data-key="${key}"]`);
  if (!choice) return false;
  choice.checked = true;
  if (key === "A") choice.form.requestSubmit();
  else choice.form.elements.reason.focus();
  return true;
};
const press = (card, key) => {
  if (key === "R") {
    card.querySelector("[name=reason]")?.focus();
    return true;
  }
  if (key === "U") {
    stand(document.getElementById(lastDecided));
    return true;
  }
  return choose(card, key);
};

document.addEventListener("keydown", (down) => {
  if (down.ctrlKey || down.metaKey || down.altKey || down.isComposing || down.defaultPrevented) return;
  const card = down.target.closest(CARD);
  if (down.key === "Escape" && card) {
    stand(card);
    return;
  }
  if (typing(down.target)) return;
  const by = { ArrowDown: 1, ArrowUp: -1 }[down.key];
  if (by && !down.target.matches("input, summary")) {
    down.preventDefault();
    step(card, by);
    return;
  }
  // A key that is held down would decide one after another.
  if (card && !down.repeat && !down.shiftKey && down.key.length === 1 && press(card, down.key.toUpperCase())) {
    down.preventDefault();
  }
});

document.addEventListener("htmx:afterSettle", (settled) => {
  const card = settled.target.closest?.(CARD);
  if (!card) return;
  if (card.querySelector(".wrongs")) {
    card.querySelector("[name=reason]")?.focus();
    return;
  }
  lastDecided = card.id;
  const waiting = undecided();
  stand(waiting.find(follows(card)) ?? waiting[0] ?? document.querySelector("#left"));
});
