// What was typed into a form with data-keep stays in this tab until the server has accepted it: a cut network, a closed
// page or a browser's own error page loses nothing. Only words are kept, no files; the form's key comes back only while
// the thing is as it was (data-keep-version), so that sending again is the same form, and never an old one.
// It is kept for its person alone: gone when somebody signs out, or when somebody else is signed in on this tab.
// Every page loads this, because any page may be the one that says that a form was accepted.

import { person } from "./device.js";

const ALL = "kept:";
const PREFIX = `${ALL}${person()}:`;
const SKIPPED = ["file", "password", "submit", "button", "hidden"];
const fields = (form) => [...form.elements].filter((part) => part.name && !SKIPPED.includes(part.type));
const ticked = (part) => part.type === "checkbox" || part.type === "radio";
const place = (part) => (ticked(part) ? `${part.name}=${part.value}` : part.name);
const slot = (form) => PREFIX + form.dataset.keep;

const read = (key) => {
  try {
    return JSON.parse(sessionStorage.getItem(key));
  } catch {
    return null;
  }
};
const forgetWhere = (which) => {
  try {
    Object.keys(sessionStorage)
      .filter((key) => key.startsWith(ALL) && which(key))
      .forEach((key) => sessionStorage.removeItem(key));
  } catch {
    // A forbidden store keeps nothing.
  }
};
document.addEventListener("kept:leaving", () => forgetWhere(() => true));

// `sent`: the page it was sent from; "" while it is typed.
const write = (form, sent) => {
  const typed = Object.fromEntries(fields(form).map((part) => [place(part), ticked(part) ? part.checked : part.value]));
  const kept = { typed, sent, id: form.elements.id?.value, version: form.dataset.keepVersion };
  try {
    sessionStorage.setItem(slot(form), JSON.stringify(kept));
  } catch {
    // A full or forbidden store: the form works as before.
  }
};
const restore = (form) => {
  const kept = read(slot(form));
  if (!kept) return;
  for (const part of fields(form)) {
    const value = kept.typed[place(part)];
    if (value === undefined) continue;
    if (ticked(part)) part.checked ||= value;
    else if (part.value === "") part.value = value;
  }
  if (form.elements.id && kept.id && kept.version === form.dataset.keepVersion) form.elements.id.value = kept.id;
  write(form, "");
};

const forms = [...document.querySelectorAll("form[data-keep]")];
forgetWhere((key) => !key.startsWith(PREFIX));
// A page that says what was done, come to from where a form was sent: that form was accepted, also where it stands here again.
if (document.referrer && document.querySelector(".said li:not(.error, .warning)")) {
  const from = new URL(document.referrer).pathname;
  forgetWhere((key) => read(key)?.sent === from);
}
forms.forEach(restore);
// What the list of what is missing reads follows what came back.
forms.filter((form) => read(slot(form))).forEach((form) => form.dispatchEvent(new Event("change", { bubbles: true })));
document.addEventListener("input", (typed) => {
  const form = typed.target.form;
  if (form?.matches("[data-keep]")) write(form, "");
});
document.addEventListener("submit", (send) => {
  if (send.target.matches("[data-keep]") && !send.defaultPrevented) write(send.target, location.pathname);
});
