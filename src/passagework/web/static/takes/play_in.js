// A digital piano on a cable (Web MIDI): what is played is taken down as a MIDI file.

import { midiFile } from "/static/takes/midi_file.js";
import { time } from "/static/takes/record.js";

const NOTE_OFF = 0x80, NOTE_ON = 0x90, CONTROL = 0xb0, PEDALS = [64, 66, 67];

/** Begin to take down; `failed` gets an Error that ends it. */
export async function playIn(_level, failed) {
  if (!navigator.requestMIDIAccess) throw new Error("This browser cannot read a piano on a cable. Save a MIDI file on the piano and bring it.");
  let access;
  try {
    access = await navigator.requestMIDIAccess();
  } catch {
    throw new Error("The piano may not be read. Allow it for this page in the browser, and try again.");
  }
  const inputs = [...access.inputs.values()];
  if (!inputs.length) throw new Error("No piano is found. Join it by its cable, switch it on, and try again.");
  const events = [];
  let strokes = 0;
  const take = event => {
    const [status, first, second] = event.data;
    const kind = status & 0xf0;
    const wanted = kind === NOTE_ON || kind === NOTE_OFF || (kind === CONTROL && PEDALS.includes(first));
    if (!wanted) return;
    if (kind === NOTE_ON && second > 0) strokes += 1;
    events.push({ at: event.timeStamp, bytes: [kind, first, second] });
  };
  const end = () => {
    for (const input of inputs) input.removeEventListener("midimessage", take);
    access.removeEventListener("statechange", left);
  };
  const left = ({ port }) => {
    if (port.type !== "input" || port.state === "connected" || events.length) return;
    end();
    failed(new Error("The piano was taken away."));
  };
  for (const input of inputs) input.addEventListener("midimessage", take);
  access.addEventListener("statechange", left);
  return {
    tell: seconds => `Taking down, ${time(seconds)}, ${strokes} keys struck`,
    async cancel() { end(); },
    async finish() {
      end();
      if (!strokes) throw new Error("No key was struck. Check the cable, and that the piano sends MIDI.");
      return { blob: midiFile(events), name: "played.mid" };
    },
  };
}
