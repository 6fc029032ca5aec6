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
  if (parts.length === 0) sum.textContent = "Nothing accepted yet";
  else if (sum.dataset.vat === "no") sum.textContent = `Accepted: ${pounds(pay)}`;
  else if (sum.dataset.first === "net") sum.textContent = `Accepted: ${pounds(net)} without VAT, ${pounds(pay)} with VAT`;
  else sum.textContent = `Accepted: ${pounds(pay)} with VAT`;
  sum.hidden = false;
}

if (form && sum) {
  form.addEventListener("change", show);
  addEventListener("pageshow", show);
  show();
}
