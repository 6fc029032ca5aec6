// "Is it one of these?": which earlier observation the one being typed is, or none, by a press; the form's own field holds it.

const field = () => document.querySelector("#entry-form select[name=continues]");
const show = () => {
  for (const button of document.querySelectorAll("#like-it [data-same]")) {
    button.setAttribute("aria-pressed", String(button.dataset.same === field()?.value));
  }
};
document.addEventListener("click", ({ target }) => {
  const button = target.closest("#like-it [data-same]");
  const chosen = field();
  if (!button || !chosen) return;
  chosen.value = button.dataset.same;
  chosen.dispatchEvent(new Event("change", { bubbles: true }));
  show();
});
document.addEventListener("htmx:afterSwap", ({ target }) => {
  if (target.id === "like-it") show();
});
