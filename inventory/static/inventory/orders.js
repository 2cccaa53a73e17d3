// The crew's orders and how they stand; a new one, and the mill it goes to.

import { all, ask } from "../crews/api.js";
import { choices, fill, find, make, row, saveForm, tell } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { run, start } from "../crews/shell.js";
import { ORDER_STATES } from "./words.js";

const given = new URLSearchParams(location.search);

run(async () => {
  const me = await start();
  const [orders, mills] = await Promise.all([all("orders?order=-created_at"), all("mills")]);
  fill("orders", orders.map((one) => row(make("a", { href: `/orders/${one.id}` }, one.name), ORDER_STATES[one.state], one.mill_name, one.wanted_on)));
  find("list").hidden = !orders.length;
  find("none").hidden = orders.length > 0;
  if (!me.may("builder")) return;
  find("mill-part").hidden = false;
  find("currency").value = orders[0]?.currency || "";
  offerMills(mills);
  find("begin-part").open = given.has("cabin") || !orders.length;
  find("begin").addEventListener("submit", (event) => { event.preventDefault(); run(begin); });
  find("add-mill").addEventListener("submit", (event) => { event.preventDefault(); run(addMill); });
});

function offerMills(mills, chosen) {
  choices(find("mill"), mills.map((one) => [one.id, one.name]), chosen);
  find("begin-part").hidden = !mills.length;
  find("no-mill").hidden = mills.length > 0;
  find("mill-part").open = !mills.length;
}

async function begin() {
  const form = find("begin");
  const id = newId();
  const { name, mill, price_by: priceBy, currency, wanted_on: wantedOn } = form.elements;
  const body = { name: name.value, mill: mill.value, price_by: priceBy.value, currency: currency.value.trim().toUpperCase(), wanted_on: wantedOn.value || null };
  await saveForm(form, () => ask("PUT", `orders/${id}`, body));
  const cabin = given.get("cabin");
  location.assign(`/orders/${id}${cabin ? `?cabin=${encodeURIComponent(cabin)}` : ""}`);
}

async function addMill() {
  const form = find("add-mill");
  const id = newId();
  const body = Object.fromEntries(["name", "board_rule", "cubic_rule", "contact"].map((name) => [name, form.elements.namedItem(name).value]));
  await saveForm(form, () => ask("PUT", `mills/${id}`, body));
  offerMills(await all("mills"), id);
  form.reset();
  find("mill-part").open = false;
  find("begin-part").open = true;
  find("name").focus();
  tell(`${body.name} is added.`);
}
