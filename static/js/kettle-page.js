// The parts of the page by their names, and how grams are written.

export const stove = document.querySelector(".stove");
export const part = new Proxy({}, {
  get: (_, name) => document.querySelector(`[data-part="${name}"]`),
});
export const form = part.reading;
export const { figure, scale: scales } = form.elements;

export function write(texts) {
  // The same words again are not said again by a screen reader.
  for (const [name, text] of Object.entries(texts))
    if (part[name].textContent !== text) part[name].textContent = text;
}

export function el(tag, values, ...children) {
  const element = Object.assign(document.createElement(tag), values);
  element.append(...children);
  return element;
}

export function on(type, target, act) {
  target?.addEventListener(type, (event) => {
    event.preventDefault();
    act(event);
  });
}

// Grams are whole thousandths everywhere; only what is written has a point.
export const plain = (mg) => (mg / 1000).toFixed(3).replace(/0{1,2}$/, "").replace("-", "−");
export const shown = (mg) => plain(mg).replace(/\d(?=(\d{3})+\.)/g, "$&\u202f");
export const grams = (mg) => `${shown(mg)}\u202fg`;
