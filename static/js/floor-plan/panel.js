// Beside the drawing: the list of rooms and points, and the form of what is chosen. Everything can be done from here
// without a mouse.
import { element } from "../elements.js";
import { doubtsOf } from "./doubts.js";
import { partOf } from "./fields.js";
import { labelPlace } from "./geometry.js";
import { ImageForm } from "./image-form.js";
import { PointForm } from "./point-form.js";
import { RoomForm } from "./room-form.js";
import { RoomList } from "./room-list.js";
import { SizeForm } from "./size-form.js";
import { ZoneForms } from "./zone-forms.js";

// Where a row is drawn; null for one that is not.
const placeOf = (row) => {
  if (row.outline) return labelPlace(row.outline).at;
  return Number.isFinite(row.x_m) ? [row.x_m, row.y_m] : null;
};

export class Panel {
  // place: the element with the parts named by data-part. refresh: draws everything again.
  constructor(place, plan, tools, drawing, refresh) {
    Object.assign(this, { plan, tools, drawing, refresh });
    this.doubts = partOf(place, "doubts");
    this.room = new RoomForm(place, plan, tools);
    this.point = new PointForm(place, plan, tools);
    this.parts = [
      new RoomList(place, plan, tools, (list, id) => this.pick(list, id)),
      this.room,
      this.point,
      new SizeForm(place, plan, tools),
      new ImageForm(place, plan),
      new ZoneForms(place, plan, tools, this),
    ];
    this.listen(place);
  }

  // What the buttons with data-act do.
  get acts() {
    return {
      takeArea: () => this.room.takeArea(),
      outlineIt: () => this.drawOutline("rooms", this.tools.chosenRoom().id),
      divideIt: () => this.divide(),
      placeIt: () => this.placePoint(this.tools.chosenRow().id),
      takeOff: () => this.point.takeOff(),
      deleteIt: () => {
        this.tools.remove();
        this.refresh();
      },
    };
  }

  listen(place) {
    place.addEventListener("click", (event) => {
      const act = event.target.closest("[data-act]")?.dataset.act;
      if (act) this.acts[act]();
    });
    place.addEventListener("submit", (event) => event.preventDefault()); // each form says itself what it does
  }

  draw() {
    this.parts.forEach((part) => part.draw());
    const items = doubtsOf(this.plan).map((text) => element("li", {}, text));
    this.doubts.replaceChildren(...items);
    this.doubts.hidden = !items.length;
  }

  pick(list, id) {
    this.tools.use("choose");
    this.tools.choose(list, id);
    const at = placeOf(this.tools.chosenRow());
    if (at) this.drawing.show(at);
    this.refresh();
    (list === "rooms" ? this.room : this.point).focus();
  }

  drawOutline(list, id) {
    this.tools.use("draw");
    this.tools.outlining = { list, id };
    this.toDrawing();
  }

  placePoint(id) {
    this.tools.use("point");
    this.tools.placing = id;
    this.toDrawing();
  }

  divide() {
    this.tools.use("divide");
    this.toDrawing();
  }

  toDrawing() {
    this.refresh();
    const { svg } = this.drawing;
    svg.scrollIntoView({ block: "nearest" });
    svg.focus({ preventScroll: true });
  }
}
