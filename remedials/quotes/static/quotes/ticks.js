// Tick all or none of a table at once: a button beside its heading, made here since it needs this script.

for (const table of document.querySelectorAll("[data-ticks]")) {
  const boxes = [...table.querySelectorAll('input[type="checkbox"]')];
  if (boxes.length < 2) continue;
  const button = document.createElement("button");
  const name = table.caption.textContent.trim();
  const word = () => {
    const all = boxes.every((box) => box.checked);
    button.textContent = all ? "Tick none" : "Tick all";
    button.setAttribute("aria-label", `${button.textContent}: ${name}`);
    return all;
  };
  button.type = "button";
  button.className = "button";
  button.addEventListener("click", () => {
    const all = word();
    boxes.forEach((box) => (box.checked = !all));
    word();
  });
  table.addEventListener("change", word);
  word();
  table.caption.append(" ", button);
}
