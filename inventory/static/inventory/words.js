// What the API's short words are called on a page.

export const STATES = {
  in_rack: "on the rack", promised: "promised", set: "set", cut_up: "cut up", put_aside: "put aside", gone: "gone",
};
export const HAZARDS = {
  metal: "metal", knot: "large knot", rot: "rot", shake: "shake", split: "split", insects: "insects",
};
