// A stand-in for a serial port: what a test pushes is what the scale sends.
{
  const encoder = new TextEncoder();
  const listeners = { connect: [] };
  const lab = { written: [], opened: [], source: null };

  const port = {
    readable: null,
    writable: null,
    async open(options) {
      lab.opened.push(options);
      this.renew();
      this.writable = new WritableStream({
        write: (bytes) => void lab.written.push(new TextDecoder().decode(bytes)),
      });
    },
    renew() {
      this.readable = new ReadableStream({ start: (source) => void (lab.source = source) });
    },
    async close() {
      this.readable = this.writable = null;
    },
  };

  lab.send = (text) => lab.source.enqueue(encoder.encode(text));
  // As the standard has it: after a framing error the port has a new stream at once, after a
  // pulled plug it has none.
  lab.break = () => {
    const broken = lab.source;
    port.renew();
    broken.error(new DOMException("framing", "FramingError"));
  };
  lab.pull = () => {
    const broken = lab.source;
    port.readable = null;
    broken.error(new DOMException("gone", "NetworkError"));
  };
  lab.plugIn = () => listeners.connect.forEach((listen) => listen());

  const serial = {
    requestPort: async () => port,
    getPorts: async () => [port],
    addEventListener: (type, listen) => listeners[type]?.push(listen),
  };
  Object.defineProperty(Navigator.prototype, "serial", { get: () => serial });
  globalThis.lab = lab;
}
