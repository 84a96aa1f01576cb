// SHA-256 (FIPS 180-4).

async function digest(buffer) {
  const bytes = window.crypto?.subtle ? new Uint8Array(await window.crypto.subtle.digest("SHA-256", buffer)) : sha256(new Uint8Array(buffer));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// For a browser that does not take a page from a file for a secure one, and has no WebCrypto there.
function sha256(message) {
  const primes = [];
  for (let n = 2; primes.length < 64; n += 1) if (primes.every((p) => n % p !== 0)) primes.push(n);
  const fraction = (x) => Math.floor((x - Math.floor(x)) * 4294967296) | 0;
  const k = primes.map((p) => fraction(Math.cbrt(p)));
  const h = primes.slice(0, 8).map((p) => fraction(Math.sqrt(p)));
  const length = message.length;
  const padded = new Uint8Array(((length + 8) >> 6 << 6) + 64);
  padded.set(message);
  padded[length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor(length / 536870912));
  view.setUint32(padded.length - 4, (length << 3) >>> 0);
  const turn = (x, n) => (x >>> n) | (x << (32 - n));
  const w = new Int32Array(64);
  for (let at = 0; at < padded.length; at += 64) {
    for (let i = 0; i < 16; i += 1) w[i] = view.getInt32(at + 4 * i);
    for (let i = 16; i < 64; i += 1) {
      const [a, b] = [w[i - 15], w[i - 2]];
      w[i] = (w[i - 16] + (turn(a, 7) ^ turn(a, 18) ^ (a >>> 3)) + w[i - 7] + (turn(b, 17) ^ turn(b, 19) ^ (b >>> 10))) | 0;
    }
    let [a, b, c, d, e, f, g, last] = h;
    for (let i = 0; i < 64; i += 1) {
      const one = (last + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + k[i] + w[i]) | 0;
      const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [last, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
    }
    [a, b, c, d, e, f, g, last].forEach((it, i) => (h[i] = (h[i] + it) | 0));
  }
  const out = new DataView(new ArrayBuffer(32));
  h.forEach((it, i) => out.setInt32(4 * i, it));
  return new Uint8Array(out.buffer);
}
