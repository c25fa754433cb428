// A floor as the server gives it: one zone, two rooms with a common wall, a point in the first.
import { rectangle } from "../../static/js/floor-plan/geometry.js";

export const floor = (more = {}) => ({
  version: 3, image: null, doubts: [], scale: null, origin: { x_px: 0, y_px: 0 },
  zones: [{ id: "z1", name: "Offices", outline: null }],
  rooms: [
    { id: "r1", name: "Hall", zone: "z1", outline: rectangle(0, 0, 4, 3), area_m2: 12, height_m: 2.6 },
    { id: "r2", name: "Study", zone: "z1", outline: rectangle(4, 0, 3, 3), area_m2: 9, height_m: 2.6 },
  ],
  points: [{ id: "p1", name: "P1", kind: "room_air", room: "r1", height_m: 1.2, place: "", x_m: 1, y_m: 1 }],
  ...more,
});
