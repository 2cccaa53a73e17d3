// The rounds of a cabin to choose from: half logs that are places lie under the first round, or over the last one.

/** `laid` is the API's answer to a cabin's layout. Returns `[value, words]` of every round. */
export function roundChoices({ layout, rounds }) {
  const whole = Array.from({ length: rounds }, (_, at) => [String(at + 1), String(at + 1)]);
  const under = layout.half_logs ? [["0", "half logs"]] : [];
  return [...under, ...whole, ...(layout.top === "even" ? [[String(rounds + 1), "half logs at the top"]] : [])];
}
