// Parts and fields of the panel beside the drawing (templates/campaigns/parts/plan_board.html), by their names there.
import { element } from "../elements.js";

export const partOf = (place, name) => place.querySelector(`[data-part="${name}"]`);
export const fieldOf = (form, name) => form.querySelector(`[data-field="${name}"]`);

// Fills fields with what a row holds; a field in which somebody is typing keeps what is typed for this row.
export const fill = (form, id, values) => {
  for (const [name, value] of Object.entries(values)) {
    const input = fieldOf(form, name);
    if (input !== document.activeElement || input.dataset.of !== id) input.value = value;
    input.dataset.of = id;
  }
};

export const offerZones = (select, zones, chosen) =>
  select.replaceChildren(...zones.map((zone) => element("option", { value: zone.id, selected: zone.id === chosen }, zone.name)));
