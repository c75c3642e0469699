// The answers of a round, each one or more of the changes that can be made on a line's page too, so that it is kept as a
// correction and can be undone as such. A maker is given the line's model and where the doubt is in it ({part} or {span});
// it gives changes to make one after the other, or a sentence that says why there are none.

/** It is right as it stands. Of voice without text: nothing is said there. */
export const right = (_model, { part, span }) =>
  part !== undefined ? [{ kind: "confirm-part", part }] : [{ kind: "nothing-said", start_us: span[0], end_us: span[1] }];

/** Other words are said. `listen` finds them in the sound; else only letters change, or they are spread over the time. */
export const otherWords = (text, listen) => (_model, { part, span }) =>
  part !== undefined
    ? [{ kind: "retype", part, text, listen }]
    : [{ kind: "place-words", text, start_us: span[0], end_us: span[1], listen }];

/** More is said than is written, before the word or after it. */
export const moreWords = (text, before) => (model, { part }) => {
  const word = model.parts[part].text;
  return [{ kind: "retype", part, text: before ? `${text} ${word}` : `${word} ${text}`, listen: true }];
};

/** It is not said at all. */
export const notSaid = (model, where) => (where.part === undefined ? right(model, where) : [{ kind: "delete-part", part: where.part }]);

/** Voice without text is a sound that is no word. */
export const isCue = (name) => (_model, { span }) =>
  span ? [{ kind: "add-cue", name, start_us: span[0], end_us: span[1] }] : "Only voice without text can be a cue here.";

/** It is said elsewhere: `starts` and `ends` are where, null where that end stays. */
export const moved = ({ starts, ends }) => (model, { part }) => {
  const last = model.times(part).length - 1;
  const move = (boundary, to_us) => ({ kind: "move-boundary", part, boundary, to_us });
  return [starts !== null && move(0, starts), ends !== null && move(last, ends)].filter(Boolean);
};
