// What the planner's short words are called on a page.

export const PLAN_STATES = { proposed: "proposed", adopted: "adopted", replaced: "replaced" };

export const TERMS = {
  level: "ends of a wall not level", corner: "corners climbing unevenly", plate_spread: "plate log tops apart", big_low: "thicker logs above thinner", crown: "bowed logs",
  knot: "knots near notches or cuts", grain: "spiral grain", notch: "notches not of the best depth", jamb: "uneven jambs", waste: "waste",
  culled: "culled logs used", short: "empty places", hard: "notches beyond the limit", keep: "places of the plan in force that change", alternate: "butts over butts",
  late_level: "the last rounds not level", long: "long logs in short places", opening: "sills and heads off their height",
};

export const number = (value) => Math.round(value).toLocaleString("en");
