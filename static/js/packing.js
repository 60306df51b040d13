// Adds up what is taken while it is typed. The server counts again; this only saves a round trip.
const form = document.querySelector("form[data-packing]");

// Thousandths as whole numbers, so that sums are exact.
function thousandths(text) {
  const bare = text.replace(/[\s\u202f]/g, "").replace(",", ".");
  const match = /^(\d*)(?:\.(\d{0,3}))?$/.exec(bare);
  return match && bare ? Number((match[1] || "0") + (match[2] || "").padEnd(3, "0")) : 0;
}

function shown(value, places) {
  const text = (value / 1000).toFixed(3).replace(/\.?0+$/, "");
  const [whole, rest = ""] = text.split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, "\u202f");
  const decimals = rest.padEnd(places, "0");
  return decimals ? `${grouped}.${decimals}` : grouped;
}

function whole(name) {
  return Math.trunc(thousandths(form.elements[name].value) / 1000);
}

function taken(key) {
  const fields = form.querySelectorAll(`[data-taken="${key}"]`);
  return [...fields].reduce((sum, field) => sum + thousandths(field.value), 0);
}

function say(key, sentence) {
  const line = form.querySelector(`[data-sum="${key}"]`);
  if (line && line.textContent !== sentence) line.textContent = sentence;
}

function addUp() {
  const units = whole("units");
  const wanted = units * thousandths(form.dataset.fill);
  const pieces = (units + whole("spoiled")) * 1000;
  say("bulk", `${shown(taken("bulk"), 1)}\u202fg entered; ${units} units hold ${shown(wanted, 1)}\u202fg.`);
  say("containers", `${shown(taken("containers"), 0)} entered; ${shown(pieces, 0)} needed.`);
}

// What is left in the pot, once weighed, says what was taken.
function takeTheRest(event) {
  const { leftOf, book } = event.target.dataset;
  if (!leftOf || !event.target.value.trim()) return;
  const rest = thousandths(book) - thousandths(event.target.value);
  if (rest >= 0) form.elements[leftOf].value = (rest / 1000).toFixed(3).replace(/\.?0+$/, "");
}

if (form) {
  form.addEventListener("input", takeTheRest);
  form.addEventListener("input", addUp);
  addUp();
}
