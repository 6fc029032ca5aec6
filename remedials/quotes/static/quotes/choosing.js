// The sum of what is chosen, while it is tapped. It is added up in whole pence that the server worked out; the page that
// follows shows the server's own sum. Without this script the page works the same, only without the sum.

const form = document.querySelector("[data-chooser]");
const sum = form?.querySelector("[data-sum]");

const pounds = (pence) => `£${(pence / 100n).toLocaleString("en-GB")}.${String(pence % 100n).padStart(2, "0")}`;

function chosen() {
  const yes = [...form.querySelectorAll('input[value="yes"][data-pay]:checked')];
  const keys = new Set(yes.map((input) => input.dataset.key));
  const follows = (out) => {
    const needs = out.dataset.needs.split(" ").filter(Boolean);
    return yes.length > 0 && (needs.length === 0 || needs.some((key) => keys.has(key)));
  };
  return [...yes, ...[...form.querySelectorAll("[data-call-out]")].filter(follows)];
}

function show() {
  const parts = chosen();
  const total = (name) => parts.reduce((all, part) => all + BigInt(part.dataset[name]), 0n);
  const pay = total("pay"), net = total("net");
  const before = sum.dataset.before ? `; accepted before: ${sum.dataset.before}` : "";
  let now = "Nothing chosen";
  if (parts.length > 0 && sum.dataset.vat === "no") now = `Chosen: ${pounds(pay)}`;
  else if (parts.length > 0 && sum.dataset.first === "net") now = `Chosen: ${pounds(net)} without VAT, ${pounds(pay)} with VAT`;
  else if (parts.length > 0) now = `Chosen: ${pounds(pay)} with VAT`;
  sum.textContent = now + before;
  sum.hidden = false;
}

if (form && sum) {
  form.addEventListener("change", show);
  addEventListener("pageshow", show);
  show();
}
