// Nobody is signed in: pages kept for working without network are nobody's to see.
globalThis.caches?.delete("kettle-pages");
