// From time to place on the strip and back. No DOM.
const [LEFT, RIGHT] = [56, 12]; // pixels beside the drawing: values stand on the left

export class TimeScale {
  // view: [from, to] in UTC ms; width of the strip in pixels.
  constructor([from, to], width) {
    Object.assign(this, { from, to, left: LEFT, right: width - RIGHT });
  }

  get perPixel() {
    return (this.to - this.from) / (this.right - this.left);
  }

  x(time) {
    return this.left + ((time - this.from) / (this.to - this.from)) * (this.right - this.left);
  }

  timeAt(x) {
    return this.from + (x - this.left) * this.perPixel;
  }

  shows(x, margin = 0) {
    return x >= this.left - margin && x <= this.right + margin;
  }

  // From where to where a stretch is seen; null when it is not.
  clipped(low, high) {
    const [from, to] = [Math.max(this.left, this.x(low)), Math.min(this.right, this.x(high))];
    return to < this.left || from > this.right || to < from ? null : [from, to];
  }
}
