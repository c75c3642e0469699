// What the words of the desk mean: one table, shown in a dialog, and beside each state of the list.

import { make } from "./dom.js";

// State of a line -> what it means.
export const STATES = {
  "not done": "nobody has listened to it yet, neither a person nor the program",
  broken: "the file that keeps it has faults; open it, and they are named",
  "not laid": "no word of it could be laid; open it: its sound is there, and why",
  rejected: "sound and text do not match: all of it is doubtful; open it, and the reason is told",
  doubts: "the sound hardly supports some of its words: ask before filming",
  computed: "heard by the program, not touched by a person",
  corrected: "a person has changed something in it",
  checked: "a person has listened to it as it stands and found it right",
  filmed: "every frame on which it is heard is in the can",
};

const WORDS = {
  line: "one character's recorded speech in one shot, with its text",
  phoneme: "one speech sound, written in ARPAbet",
  cue: "a sound that is no word: breath, laugh, gasp",
  boundary: "where one sound ends and the next begins",
  piece: "one replacement mouth, by its code; a line down its column: it stays on",
  doubt: "how little the sound supports a word; a doubtful word is underlined with a wave",
  round: "every doubt asked, one after the other, each answered with a key",
  "voice without text": "something is heard, and no word or cue covers it; counted with the doubts",
  "not seen": "a sound that gets no frame of its own, with the reason",
  "voice factor": "by how much the recording is slowed (below 1: sped up) before the recogniser hears it",
  correction: "what a person changed; it stays when the line is listened to again",
  "≠": "beside a corrected word: a later computation has it elsewhere",
  "newer one": "a computation from another text or recording, which waits until somebody takes it",
  filmed: "of a frame: in the can, final; locked, so that nothing on it changes",
};

const rows = (table) => Object.entries(table).map(([word, text]) => [make("dt", {}, word), make("dd", {}, text)]).flat();

/** Return a button, and the dialog that it opens, which explains the words. */
export function wordsButton() {
  const close = make("button", { type: "button", onclick: () => dialog.close() }, "Close");
  const dialog = make(
    "dialog",
    { class: "words-dialog", "aria-label": "Words" },
    make("div", { class: "meanings", tabindex: "0", role: "group", "aria-label": "What the words mean" },
      make("h2", {}, "Words"), make("dl", {}, rows(WORDS)),
      make("h2", {}, "How far a line is"), make("dl", {}, rows(STATES))),
    close,
  );
  return [make("button", { type: "button", onclick: () => dialog.showModal() }, "Words"), dialog];
}
