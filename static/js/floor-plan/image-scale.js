// Between pixels of the plan image and metres on the floor. No DOM.
import { distance } from "./geometry.js";

const UNSCALED_WIDTH = 30; // metres: without a scale the image is taken for so much, only to be seen

export const metresPerPixel = ({ now: { scale }, image }) => {
  if (scale) return scale.length_m / distance([scale.x1, scale.y1], [scale.x2, scale.y2]);
  return image ? UNSCALED_WIDTH / Math.max(image.width_px, image.height_px) : 1;
};

export const toPixels = (plan, [x, y]) => {
  const { origin } = plan.now;
  const size = metresPerPixel(plan);
  return [x / size + origin.x_px, y / size + origin.y_px];
};

export const toMetres = (plan, [px, py]) => {
  const { origin } = plan.now;
  const size = metresPerPixel(plan);
  return [(px - origin.x_px) * size, (py - origin.y_px) * size];
};
