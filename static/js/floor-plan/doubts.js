// What a person should look at: said beside the drawing, never refused. No DOM.
import { crossesItself, inside } from "./geometry.js";

const liesOutside = (point, room) => point.x_m !== null && room?.outline && !inside([point.x_m, point.y_m], room.outline);

// Sentences about the plan as drawn, then those of the server about the plan as saved.
export const doubtsOf = ({ now: { rooms, points }, doubts }) => {
  const roomOf = (point) => rooms.find((room) => room.id === point.room);
  const crossing = rooms.filter((room) => room.outline && crossesItself(room.outline));
  const astray = points.filter((point) => point.room && liesOutside(point, roomOf(point)));
  return [
    ...crossing.map((room) => `${room.name}: the outline crosses itself.`),
    ...astray.map((point) => `Point ${point.name} lies outside its room, ${roomOf(point).name}.`),
    ...doubts,
  ];
};
