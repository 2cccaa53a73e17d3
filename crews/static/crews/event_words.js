// What the kinds of events are called on a page.

export const EVENT_WORDS = {
  order_sent: "an order was sent", order_confirmed: "a mill confirmed an order", delivery_announced: "a truck was announced", delivered: "a truck was unloaded",
  round_complete: "a round is complete", plan_ready: "a plan is made", plan_stale: "a plan no longer fits what is built", plan_adopted: "a plan was adopted", layout_changed: "a layout was changed",
  log_charted: "a log was charted", log_measured: "a log was measured again", log_culled: "a log was put aside", log_hazardous: "a hazard was found in a log",
  log_reserved: "a log was reserved", log_released: "a log became free", piece_sawn: "a piece was sawn", log_set: "a log was set", log_set_undone: "a set log was taken back", height_measured: "a height was measured",
};
