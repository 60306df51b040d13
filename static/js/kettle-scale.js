// A scale on a cable, where the browser has Web Serial: lines of text in, whole milligrams out.

const KEPT = "tarebook-scale";
// Common practice, no source: a mark for steady, a sign, a figure and its unit, a line each.
const DEFAULTS = {
  baud: "9600",
  pattern: String.raw`^\s*(?:(?<flag>ST|US)\s*,?)?\s*(?:[A-Z]{2}\s*,)?\s*(?<sign>[-+])?\s*(?<figure>\d+(?:[.,]\d+)?)\s*(?<unit>kg|g|oz)\s*$`,
  steady: "ST",
  equal: "3",
  tare: "",
  on: "",
};
// One avoirdupois ounce is 28.349523125 g: a sixteenth of 453.59237 g (NIST SP 811).
const NANOGRAMS = { kg: 10n ** 12n, g: 10n ** 9n, oz: 28349523125n };
const LONGEST_LINE = 200;

export function milligrams(figure, unit) {
  const [whole, decimals = ""] = figure.split(/[.,]/);
  const parts = BigInt(whole + decimals) * NANOGRAMS[unit];
  const part = 10n ** BigInt(decimals.length + 6);
  return Number((2n * parts + part) / (2n * part)); // half a milligram is rounded up
}

// Reads lines as the settings say: {mg, unit, steady} each, and null for what is no reading.
function reader({ pattern, steady, equal }) {
  const form = new RegExp(pattern, "i");
  let last = null;
  let same = 0;
  return (line) => {
    const { figure, flag, sign, unit = "g" } = form.exec(line)?.groups ?? {};
    if (!/^\d/.test(figure ?? "") || !NANOGRAMS[unit.toLowerCase()]) return null;
    const mg = milligrams(figure, unit.toLowerCase()) * (sign === "-" ? -1 : 1);
    same = mg === last ? same + 1 : 1;
    last = mg;
    return { mg, unit: unit.toLowerCase(), steady: flag ? flag.toUpperCase() === steady : same >= Number(equal) };
  };
}

// `dialog` asks for the settings; `hear` gets each reading; `began` and `ended` are told, the
// latter whether somebody wanted it.
export function scaleOnCable(dialog, { hear, began, ended }) {
  const form = dialog.querySelector("form");
  const said = dialog.querySelector("[role=status]");
  const settings = { ...DEFAULTS, ...JSON.parse(localStorage.getItem(KEPT) ?? "{}") };
  let port = null;
  let source = null;
  let wanted = false;

  const save = (values) =>
    localStorage.setItem(KEPT, JSON.stringify(Object.assign(settings, values)));

  // A framing error or a lost byte leaves the port a new stream, a pulled plug leaves it none.
  async function readLines(take) {
    const decoder = new TextDecoder();
    for (let broken = null; port.readable && port.readable !== broken; ) {
      broken = port.readable;
      source = broken.getReader();
      try {
        let text = "";
        for (let part = await source.read(); !part.done; part = await source.read()) {
          const lines = (text + decoder.decode(part.value, { stream: true })).split(/[\r\n]+/);
          text = lines.pop().slice(-LONGEST_LINE);
          lines.forEach(take);
        }
        return;
      } catch {
        // The next stream begins a line of its own.
      } finally {
        source.releaseLock();
      }
    }
  }

  async function read(chosen) {
    if (port) return;
    port = chosen;
    wanted = false;
    try {
      await port.open({ baudRate: Number(settings.baud) });
      save({ on: "yes" });
      began(Boolean(settings.tare));
      const understood = reader(settings);
      await readLines((line) => {
        const reading = understood(line);
        if (reading) hear(reading);
      });
    } catch {
      // Not opened, or broken: the end is told all the same.
    }
    await port.close().catch(() => null);
    port = null;
    ended(wanted);
  }

  async function again() {
    const [known] = settings.on ? await navigator.serial.getPorts() : [];
    if (known) read(known);
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const values = Object.fromEntries(new FormData(form));
    try {
      if (!/\(\?<figure>/.test(values.pattern)) throw new Error();
      new RegExp(values.pattern);
    } catch {
      said.textContent = "The pattern is no regular expression with a group named figure.";
      return;
    }
    save(values);
    const chosen = await navigator.serial.requestPort().catch(() => null);
    if (!chosen) return;
    dialog.close();
    read(chosen);
  });
  navigator.serial.addEventListener("connect", again);
  again();

  return {
    ask() {
      said.textContent = "";
      for (const box of form.elements) if (box.name) box.value = settings[box.name];
      dialog.showModal();
    },
    async tare() {
      const writer = port.writable.getWriter();
      const command = settings.tare.replaceAll("\\r", "\r").replaceAll("\\n", "\n");
      await writer.write(new TextEncoder().encode(command)).catch(() => null);
      writer.releaseLock();
    },
    stop() {
      wanted = true;
      save({ on: "" });
      source?.cancel().catch(() => null);
    },
  };
}
