// What the API's short words are called on a page.

export const STATES = {
  in_rack: "on the rack", reserved: "reserved", set: "set", cut_up: "cut up", put_aside: "put aside", gone: "gone",
};
export const HAZARDS = {
  metal: "metal", knot: "large knot", rot: "rot", shake: "shake", split: "split", insects: "insects",
};
export const ORDER_STATES = {
  draft: "being written", sent: "sent", confirmed: "confirmed by the mill", part_delivered: "part delivered", delivered: "delivered", closed: "closed", withdrawn: "withdrawn",
};
export const DELIVERY_STATES = { announced: "to come", tallied: "tally read", received: "received" };
export const PRICE_BY = { board_foot: "board foot", linear_foot: "running foot", piece: "log", cubic_metre: "cubic metre" };
