// A form is sent once: its buttons rest after the first press. The server makes a repeat harmless as well.

const buttons = (form) => [...form.elements].filter((part) => part.type === "submit");
const rest = (form) => buttons(form).forEach((button) => { button.disabled = true; });
const wake = (form) => buttons(form).forEach((button) => { button.disabled = false; });

document.addEventListener("submit", (send) => {
  const form = send.target;
  if (!form.matches("[data-guard]")) return;
  // Later than this event, so that the pressed button's own name and value are still sent.
  setTimeout(() => { if (!send.defaultPrevented || form.hasAttribute("hx-post")) rest(form); }, 0);
});
document.addEventListener("htmx:afterRequest", (done) => {
  const form = done.target.closest("form[data-guard]");
  if (form) wake(form);
});
// Back to a page kept by the browser: its buttons work again.
addEventListener("pageshow", (shown) => {
  if (shown.persisted) document.querySelectorAll("form[data-guard]").forEach(wake);
});
