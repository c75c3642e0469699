// What is on the sheet, in words: for people who use a screen reader.

/** What is heard at a time. */
export function said(model, us) {
  const part = model.parts[model.partAt(us)];
  if (!part) return model.untoldAt(us) ? "voice without text" : "silence";
  if (part.kind === "cue") return `[${part.text}]`;
  const sound = part.phonemes.find(([, start, end]) => start <= us && us < end);
  return sound ? `${part.text}, ${sound[0]}` : part.text;
}

/** What a boundary is. */
export function boundaryName(model, part, boundary) {
  const { kind, text, phonemes } = model.parts[part];
  const name = kind === "cue" ? `[${text}]` : text;
  if (boundary === 0) return `start of ${name}`;
  if (kind === "cue" || boundary === phonemes.length) return `end of ${name}`;
  return `${phonemes[boundary - 1][0]} to ${phonemes[boundary][0]} in ${name}`;
}
