// A Standard MIDI File of format 0, a tick a millisecond.

const TICKS = 500, MICROSECONDS = 500000;

const number = (value, bytes) => Array.from({ length: bytes }, (_, k) => (value >>> (8 * (bytes - 1 - k))) & 0xff);

/** A number as seven bits a byte, all but the last with the high bit set. */
function long(value) {
  const bytes = [value & 0x7f];
  while ((value >>= 7)) bytes.unshift((value & 0x7f) | 0x80);
  return bytes;
}

/** `events` are `{at, bytes}` with milliseconds; keys still down at the end are let go. */
export function midiFile(events) {
  const rows = [...events].sort((a, b) => a.at - b.at);
  const down = new Set();
  for (const { bytes: [kind, key, force] } of rows) {
    if (kind === 0x90 && force) down.add(key);
    else if (kind === 0x80 || kind === 0x90) down.delete(key);
  }
  const last = rows.length ? rows[rows.length - 1].at : 0;
  for (const key of down) rows.push({ at: last + 1, bytes: [0x80, key, 64] });
  const track = [0, 0xff, 0x51, 3, ...number(MICROSECONDS, 3)];
  let now = rows.length ? rows[0].at : 0;
  let rest = 0;
  for (const { at, bytes } of rows) {
    const exact = at - now + rest;
    const ticks = Math.round(exact);
    rest = exact - ticks;
    now = at;
    for (const byte of long(ticks)) track.push(byte);
    track.push(...bytes);
  }
  track.push(0, 0xff, 0x2f, 0);
  const head = [0x4d, 0x54, 0x68, 0x64, ...number(6, 4), ...number(0, 2), ...number(1, 2), ...number(TICKS, 2)];
  return new Blob([new Uint8Array([...head, 0x4d, 0x54, 0x72, 0x6b, ...number(track.length, 4)]), new Uint8Array(track)], { type: "audio/midi" });
}
