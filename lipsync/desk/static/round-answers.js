// The answers of a round. Each is one or more of the changes that can be made on a line's page too, so it is kept as a
// correction and can be undone. A function below takes the line's model and the place of the doubt in it ({part} or
// {span}); it returns the changes to make, in order, or a sentence that says why there are none.

/** The word is right as it stands. For voice without text: nothing is said there. */
export const right = (_model, { part, span }) =>
  part !== undefined ? [{ kind: "confirm-part", part }] : [{ kind: "nothing-said", start_us: span[0], end_us: span[1] }];

/** Other words are said. `listen` finds them in the sound; else only letters change, or the words share the time. */
export const otherWords = (text, listen) => (_model, { part, span }) =>
  part !== undefined
    ? [{ kind: "retype", part, text, listen }]
    : [{ kind: "place-words", text, start_us: span[0], end_us: span[1], listen }];

/** More is said than the text has, before the word or after it. */
export const moreWords = (text, before) => (model, { part }) => {
  const word = model.parts[part].text;
  return [{ kind: "retype", part, text: before ? `${text} ${word}` : `${word} ${text}`, listen: true }];
};

/** It is not said at all. */
export const notSaid = (model, where) => (where.part === undefined ? right(model, where) : [{ kind: "delete-part", part: where.part }]);

/** Voice without text is a sound that is no word. */
export const isCue = (name) => (_model, { span }) =>
  span ? [{ kind: "add-cue", name, start_us: span[0], end_us: span[1] }] : "Only voice without text can be a cue here.";

/** The word is said at another time: from `starts` to `ends`; null for an end that stays. */
export const moved = ({ starts, ends }) => (model, { part }) => {
  const last = model.times(part).length - 1;
  const move = (boundary, to_us) => ({ kind: "move-boundary", part, boundary, to_us });
  return [starts !== null && move(0, starts), ends !== null && move(last, ends)].filter(Boolean);
};
