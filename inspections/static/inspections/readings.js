// Typing readings with one hand: Enter goes to the next field instead of sending the form; Ctrl+Enter still keeps all.

document.addEventListener("keydown", (press) => {
  const field = press.target.closest(".reads input[type=text], .reads select");
  if (!field || press.key !== "Enter" || press.ctrlKey || press.metaKey) return;
  press.preventDefault();
  const all = [...field.form.querySelectorAll(".reads input[type=text], .reads select")];
  const next = all[all.indexOf(field) + 1] ?? field.form.querySelector("[data-save]");
  next.focus();
  next.select?.();
});
