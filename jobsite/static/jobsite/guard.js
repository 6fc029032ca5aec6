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

// Without a network a form stays as it is, with all that was typed, and says so.
const NO_NETWORK = "No network. Nothing is lost: press again when there is.";
const say = (form, words) => {
  const said = form.querySelector(".no-network") ?? document.createElement("p");
  said.className = "caution no-network";
  said.setAttribute("role", "alert");
  said.textContent = words;
  if (!said.isConnected) form.append(said);
};
document.addEventListener("submit", (send) => {
  const form = send.target;
  form.querySelector(".no-network")?.remove();
  if (navigator.onLine || !form.matches("[data-guard]") || form.method !== "post") return;
  send.preventDefault();
  send.stopImmediatePropagation();
  say(form, NO_NETWORK);
}, true);
document.addEventListener("htmx:sendError", (failed) => {
  const form = failed.target.closest("form[data-guard]");
  if (form) say(form, NO_NETWORK);
});
