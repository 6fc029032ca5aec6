// What a page makes of the server's answer to a held form (hold.js): the row that was saved, the form as it was refused, the
// next empty form, or parts of this page fetched anew.

const swap = (html, target, how) => htmx.swap(target, html, { swapStyle: how });
const parsed = (html) => new DOMParser().parseFromString(html, "text/html");

// The parts of this page that `selectors` name, as the server has them now; they stay as they are where it is not reached.
export const refresh = async (selectors) => {
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return;
    const page = parsed(await answer.text());
    for (const one of selectors.split(",")) {
      const [here, there] = [document.querySelector(one), page.querySelector(one)];
      if (here && there) swap(there.outerHTML, here, "outerHTML");
    }
    document.dispatchEvent(new CustomEvent("kept:refreshed", { detail: { selectors } }));
  } catch {
    // no network: what the page shows stays
  }
};

// The answer to something saved: a row of the page, parts of it, or another page.
export const saved = (record, answer, form) => {
  if (form?.dataset.holdRefresh) return refresh(form.dataset.holdRefresh);
  if (answer.to) return location.assign(answer.to);
  const row = form?.dataset.holdRow;
  if (row && !document.getElementById(row)) return location.assign(form.querySelector(".acts a")?.href ?? "/"); // a page of its own
  if (!answer.html) return location.reload(); // another tab sent it
  const id = record.fields.find(([name]) => name === "id")?.[1];
  const after = /afterend:#(o-[\w-]+)/.exec(answer.html);
  if (after && !document.getElementById(after[1])) return location.reload(); // somebody else's row stands before it
  document.getElementById(`o-${id ?? record.form.split(":").at(-1)}`)?.remove();
  return swap(answer.html, document.body, "none");
};

// Puts the form as the server answered it where it stands; false where this page has no place for it.
export const showRefused = (form, html) => {
  const row = form.dataset.holdRow && document.getElementById(form.dataset.holdRow);
  const target = row ?? form.closest("[data-hold-swap]");
  if (target) return swap(html, target, "outerHTML") ?? true;
  const answered = parsed(html);
  const same = [...answered.querySelectorAll("form[data-hold]")].find((one) => one.dataset.hold === form.dataset.hold);
  if (same?.querySelector(".wrongs")) return swap(same.outerHTML, form, "outerHTML") ?? true; // the rest stays as it is typed
  const page = answered.querySelector("#main");
  if (!page) return false;
  swap(page.innerHTML, document.querySelector("#main"), "innerHTML");
  return true;
};

// Empties `form` for the next of its kind: what stays, stays; what counts, counts on; what is wrong is no longer said.
export const next = (form, skipped) => {
  const item = form.querySelector("[data-counts]");
  const counted = /^(\D*)(\d{1,6})$/.exec(item?.value.trim() ?? "");
  for (const part of form.elements) {
    if (!part.name || skipped.includes(part.name) || part.matches("[data-stays], [data-stays] *")) continue;
    if (part.type === "radio" || part.type === "checkbox") part.checked = part.defaultChecked && part.value === "";
    else if (part.tagName === "SELECT") part.selectedIndex = 0;
    else if (part.type !== "hidden") part.value = "";
  }
  if (item && counted) item.value = `${counted[1]}${Number(counted[2]) + 1}`;
  form.querySelector(".wrongs")?.remove();
  form.querySelectorAll(".field.wrong").forEach((field) => field.classList.remove("wrong"));
  form.querySelectorAll(".field .error").forEach((error) => error.remove());
  const first = form.querySelector("[autofocus]") ?? form.querySelector("input:not([type=hidden]), textarea, select");
  first?.focus();
  first?.select?.();
};
