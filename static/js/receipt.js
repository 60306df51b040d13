// A delivery while it is typed: how each row is read, what a container's code fills in, and the
// lists anew after a look at another tab.
const form = document.querySelector("form[data-reading]");
const { choices, label, reading } = form.dataset;
const known = document.getElementById("known");
const said = form.querySelector("[data-scanned]");
// A GS1 code with a GTIN in any of its forms, or the bare number.
const CONTAINER = /^(?:\][A-Za-z]\d)?(?:\x1d?0[12]\d{14}|\(0[12]\)\d{14}|\d{8}$|\d{12,14}$)|\/01\/\d{8,14}/;

const field = (row, name) => row.querySelector(`[name$='-${name}']`);
const rowsNow = () => [...form.querySelectorAll("[data-row]")];

async function ask(address, values) {
  const answer = await fetch(`${address}?${new URLSearchParams(values)}`);
  return answer.ok ? answer.json() : null;
}

async function readRow(row) {
  const item = field(row, "item");
  const before = item.value;
  const heard = await ask(reading, {
    item: before,
    quantity: field(row, "quantity_as_written").value,
    received_on: form.elements.received_on.value,
  });
  if (!heard || item.value !== before) return;
  if (heard.item) item.value = heard.item;
  const words = row.querySelector("[data-said]");
  words.textContent = heard.said;
  words.classList.toggle("stop", !heard.understood);
}

function put(row, values) {
  for (const [name, value] of Object.entries(values)) if (value) field(row, name).value = value;
}

// The same lot once more is one more container of it.
function once_more(values) {
  const same = rowsNow().find(
    (row) =>
      values.supplier_lot &&
      field(row, "supplier_gtin").value === values.supplier_gtin &&
      field(row, "supplier_lot").value === values.supplier_lot,
  );
  const quantity = same && field(same, "quantity_as_written");
  const [, count, each] = /^(?:(\d+) × )?(.+)$/.exec(quantity?.value ?? "") ?? [];
  if (!each || each !== values.quantity_as_written) return null;
  quantity.value = `${Number(count ?? 1) + 1} × ${each}`;
  return same;
}

function freeRow(at) {
  const is_free = (row) => row && !["supplier_lot", "supplier_gtin"].some((name) => field(row, name).value);
  const is_empty = (row) => is_free(row) && !field(row, "item").value;
  if (is_free(at)) return at;
  if (!rowsNow().some(is_empty)) form.elements.another.click();
  return rowsNow().find(is_empty);
}

async function takeCode(code, at = null) {
  const heard = await ask(label, { code });
  if (!heard) return;
  const { values } = heard;
  said.textContent = heard.said;
  if (!values.supplier_gtin) return;
  // A row like the last delivery's waits for its container.
  const waiting = rowsNow().find(
    (row) => values.item && field(row, "item").value === values.item && !field(row, "supplier_lot").value,
  );
  const more = once_more(values);
  const row = more ?? waiting ?? freeRow(at);
  if (!more) put(row, values);
  await readRow(row);
  const next = ["item", "supplier_lot", "quantity_as_written"].map((name) => field(row, name));
  (next.find((one) => !one.value) ?? next[2]).focus();
}

document.addEventListener("scanned", (event) => {
  if (!CONTAINER.test(event.detail)) return;
  event.preventDefault();
  takeCode(event.detail).catch(() => {});
});

form.addEventListener("change", ({ target }) => {
  const row = target.closest("[data-row]");
  if (row && target.name.endsWith("-item") && CONTAINER.test(target.value)) {
    const code = target.value;
    target.value = "";
    return void takeCode(code, row).catch(() => {});
  }
  if (row && /-(item|quantity_as_written)$/.test(target.name)) readRow(row).catch(() => {});
});

// Enter goes on to the next field of the rows: only the button sends.
form.addEventListener("keydown", (event) => {
  const { key, target } = event;
  if (key !== "Enter" || !target.matches("[data-row] tr:first-child input")) return;
  event.preventDefault();
  const fields = rowsNow().flatMap((row) => [...row.querySelectorAll("tr:first-child input:not([type=hidden])")]);
  const next = fields[fields.indexOf(target) + 1];
  if (next) next.focus();
  else form.elements.another.click();
});

function offer(select, groups) {
  const have = new Set([...select.options].map((option) => option.value));
  for (const [group, options] of groups) {
    for (const [value, word] of options) {
      if (have.has(value)) continue;
      let place = [...select.querySelectorAll("optgroup")].find((each) => each.label === group);
      if (!place && group) {
        place = document.createElement("optgroup");
        place.label = group;
        select.append(place);
      }
      (place ?? select).append(new Option(word, value));
    }
  }
}

async function takeListsAnew() {
  const lists = await ask(choices, {});
  if (!lists) return;
  known.replaceChildren(...lists.known.map((name) => new Option("", name)));
  const fresh = form.querySelector("template").content;
  for (const select of [...form.querySelectorAll("select"), ...fresh.querySelectorAll("select")]) {
    offer(select, lists[select.name.split("-").pop()] ?? []);
  }
}

document.addEventListener("visibilitychange", () => {
  if (!document.hidden) takeListsAnew().catch(() => {});
});
