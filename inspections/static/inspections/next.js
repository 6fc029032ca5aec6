// A code decided: the cursor goes on to the next card that nobody has decided on, after the last one to the count.

const follows = (card) => (other) => card.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING;

document.addEventListener("htmx:afterSettle", (settled) => {
  const card = settled.target.closest?.("[data-card]");
  if (!card || card.querySelector(".wrongs")) return;
  const waiting = [...document.querySelectorAll("[data-undecided]")];
  const next = waiting.find(follows(card)) ?? waiting[0];
  (next?.querySelector("select") ?? document.querySelector("#left"))?.focus();
});
