// Where an observation is, and its code, by a few keys.
// A board is chosen by its first letters: what only one board begins with or holds is written out, and its ways are offered.
// In the code's field: 1 2 3 for C1 C2 C3, F for FI, 0 for none.

const KEYS = { 1: "C1", 2: "C2", 3: "C3", f: "FI", F: "FI", 0: "" };

const meant = (input) => {
  const typed = input.value.trim().toLowerCase();
  const names = [...(input.list?.options ?? [])].map((option) => option.value);
  for (const fits of ["startsWith", "includes"]) {
    const found = names.filter((name) => name.toLowerCase()[fits](typed));
    if (names.some((name) => name.toLowerCase() === typed)) return input.value;
    if (found.length) return found.length === 1 ? found[0] : input.value;
  }
  return input.value;
};
const offerWays = async (board) => {
  const ways = board.form.elements.namedItem("way")?.list;
  if (!ways || !navigator.onLine) return;
  try {
    const answer = await fetch(`${board.dataset.ways}?${new URLSearchParams({ board: board.value })}`);
    if (answer.ok) ways.innerHTML = await answer.text();
  } catch {
    // Without its suggestions the way is typed all the same.
  }
};
document.addEventListener("change", ({ target }) => {
  if (!target.matches("input[data-ways]")) return;
  if (target.value.trim()) target.value = meant(target);
  offerWays(target);
});

document.addEventListener("keydown", (press) => {
  const within = press.target.matches("input[data-code]") ? press.target.closest("fieldset") : null;
  if (!within || press.ctrlKey || press.metaKey || press.altKey || !(press.key in KEYS)) return;
  const chosen = within.querySelector(`input[data-code][value="${KEYS[press.key]}"]`);
  if (!chosen) return;
  press.preventDefault();
  chosen.checked = true;
  chosen.focus();
  chosen.dispatchEvent(new Event("change", { bubbles: true }));
});
