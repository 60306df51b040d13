// A hand scanner types like a keyboard, only faster, and ends with Enter. Whatever has the focus, a
// scan presses no button and changes no figure: its code goes where codes belong.
// Loaded before anything that can have the focus, so that a slow page is safe too.
{
  // Common practice, no source: a scanner sends a key every 2 to 30 ms, some on a slow link every
  // 50 ms; the fastest hand needs some 60 ms a key over more than two or three keys.
  const FAST_MS = 35;
  const SLOW_MS = 60;
  const PAUSE_MS = 150;
  const SHORT = 3;
  const LONG = 6;
  // GS1 General Specifications: FNC1 between two elements is sent as this control character.
  const GS = "\x1d";
  const MODIFIERS = ["Shift", "Control", "Alt", "AltGraph", "CapsLock"];
  const TEXT = "textarea, input:not([type=checkbox], [type=radio], [type=button], [type=submit], [type=file])";
  const TAKES_CODE = '[data-code], [data-line="lot"]';
  // A password is typed by heart or by a program, as fast as a scanner: no code belongs there.
  const SECRET = "[type=password]";
  let run = null;
  let ended = -Infinity;

  const patience = () => (run.code.length < LONG ? SLOW_MS : PAUSE_MS);

  function begin(now) {
    return { code: "", last: now, slowest: 0, alt: "", before: new Map(), at: document.activeElement };
  }

  // What stood in a field before the first key of this run came into it.
  function remember(field) {
    if (!run || !field.matches?.(`${TEXT}, select`) || run.before.has(field)) return;
    const { value, selectedIndex, selectionStart, selectionEnd } = field;
    run.before.set(field, { value, selectedIndex, selectionStart, selectionEnd });
  }

  function signOf(event) {
    const { key, ctrlKey, altKey, metaKey } = event;
    if (key === "F8" || (ctrlKey && key === "]")) return GS; // as scanners send it
    if (event.getModifierState("AltGraph")) return key.length === 1 ? key : "";
    return key.length > 1 || ctrlKey || altKey || metaKey ? "" : key;
  }

  function swallow(event) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }

  function onKey(event) {
    const { key, timeStamp: now } = event;
    if (event.isComposing || MODIFIERS.includes(key)) return;
    if (key === "Enter") return onEnter(event, now);
    // A key held down is a hand.
    if (event.repeat || event.target.matches?.(SECRET)) return void (run = null);
    const inRun = run && now - run.last <= patience();
    if (inRun && event.altKey && event.code.startsWith("Numpad")) {
      run.alt += key;
      run.last = now;
      return swallow(event);
    }
    const sign = signOf(event);
    if (!sign) return void (run = null);
    if (!inRun) run = begin(now);
    run.slowest = Math.max(run.slowest, now - run.last);
    run.last = now;
    run.code += sign;
    if (sign === GS || (inRun && !event.target.matches?.(TEXT))) return swallow(event);
    remember(event.target);
  }

  // Alt with 029 on the keys of numbers is how some scanners write the group separator.
  function onKeyUp({ key }) {
    if (key !== "Alt" || !run?.alt) return;
    if (Number(run.alt) === 29) run.code += GS;
    run.alt = "";
  }

  function isScan({ code, slowest, last }, now) {
    const quick = Math.max(slowest, now - last) <= FAST_MS;
    return (code.length >= SHORT && quick) || (code.length >= LONG && now - last <= PAUSE_MS);
  }

  function onEnter(event, now) {
    const scan = run;
    run = null;
    if (now - ended <= PAUSE_MS) return swallow(event); // a second end of the same scan
    if (!scan || !isScan(scan, now)) return;
    ended = now;
    const field = scan.at?.matches?.(TAKES_CODE) && !scan.at.readOnly ? scan.at : null;
    for (const [changed, was] of scan.before) if (changed !== field) putBack(changed, was);
    if (scan.at === document.body) document.activeElement?.blur();
    else scan.at?.focus({ preventScroll: true });
    if (!field) {
      swallow(event);
      return deliver(scan.code);
    }
    if (field.matches("textarea")) return; // a code a line, as it was typed
    event.preventDefault(); // dispatch goes on to the next field by this key
    tell(field, { value: scan.code });
    if (field.form?.method === "get") field.form.requestSubmit();
  }

  function putBack(field, { value, selectedIndex, selectionStart, selectionEnd }) {
    const isSelect = field.matches("select");
    if (isSelect ? field.selectedIndex === selectedIndex : field.value === value) return;
    tell(field, isSelect ? { selectedIndex } : { value });
    if (typeof selectionStart === "number") field.setSelectionRange(selectionStart, selectionEnd);
  }

  function tell(field, values) {
    Object.assign(field, values);
    for (const type of ["input", "change"]) field.dispatchEvent(new Event(type, { bubbles: true }));
  }

  // A page may take the code itself; else it goes to the box at the top.
  function deliver(detail) {
    const box = document.getElementById("scan");
    const isOurs = document.dispatchEvent(new CustomEvent("scanned", { detail, cancelable: true }));
    if (!isOurs || !box) return;
    box.value = detail;
    if (!isTyped()) return box.form.requestSubmit();
    box.select();
    const words = box.form.querySelector("[role=status]") ?? document.createElement("p");
    words.role = "status";
    box.form.append(words);
    words.textContent =
      "Scanned. What you typed on this page is not saved yet: press Enter to leave it.";
  }

  function differs(field) {
    const { defaultValue, multiple, options, selectedIndex, type, value } = field;
    if (type === "checkbox" || type === "radio") return field.checked !== field.defaultChecked;
    if (multiple) return [...options].some((one) => one.selected !== one.defaultSelected);
    if (!options) return type !== "hidden" && value !== (defaultValue ?? value);
    const first = [...options].findIndex((one) => one.defaultSelected);
    return Math.max(selectedIndex, 0) !== Math.max(first, 0);
  }

  // Something on this page would be lost by leaving it.
  const isTyped = () =>
    [...document.forms].some(
      (form) =>
        form.method === "post" &&
        (form.querySelector(".is-invalid") || [...form.elements].some(differs)),
    );

  addEventListener("keydown", onKey, true);
  addEventListener("keyup", onKeyUp, true);
  addEventListener("beforeinput", ({ target }) => remember(target), true);
}
