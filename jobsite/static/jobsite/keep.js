// What was typed into a form with data-keep stays in this tab until the server has accepted it: a cut network, a closed
// page or a browser's own error page loses nothing. Only words are kept, no files; the form's key comes back only while
// the thing is as it was (data-keep-version), so that sending again is the same form, and never an old one.

const PREFIX = "kept:";
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
  write(form, false);
};

const forms = [...document.querySelectorAll("form[data-keep]")];
// A page that says what was done, after a form was sent: it was accepted.
if (document.querySelector(".said li:not(.error, .warning)")) {
  const here = forms.map(slot);
  Object.keys(sessionStorage)
    .filter((key) => key.startsWith(PREFIX) && !here.includes(key) && read(key)?.sent)
    .forEach((key) => sessionStorage.removeItem(key));
}
forms.forEach(restore);
// What the list of what is missing reads follows what came back.
forms.filter((form) => read(slot(form))).forEach((form) => form.dispatchEvent(new Event("change", { bubbles: true })));
document.addEventListener("input", (typed) => {
  const form = typed.target.form;
  if (form?.matches("[data-keep]")) write(form, false);
});
document.addEventListener("submit", (send) => {
  if (send.target.matches("[data-keep]") && !send.defaultPrevented) write(send.target, true);
});
