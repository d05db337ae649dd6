// Fingers on the sheet: one on a handle pulls it, one on the paper pushes the paper, two pinch.

export function listenTo(sheet, { start, pull, drop, viewed, place }) {
  const { svg } = sheet;
  const down = new Map();
  let pulling = null;
  let pinch = null;

  function pinchOf() {
    const [a, b] = [...down.values()];
    return {
      x: (a.x + b.x) / 2,
      y: (a.y + b.y) / 2,
      apart: Math.max(20, Math.hypot(a.x - b.x, a.y - b.y)),
      box: { ...sheet.box },
      at: null,
    };
  }

  svg.addEventListener("pointerdown", (event) => {
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    svg.setPointerCapture(event.pointerId);
    const handle = event.target.closest?.(".handle");
    if (down.size === 1 && handle) {
      pulling = { id: event.pointerId, moved: false, x: event.clientX, y: event.clientY };
      start(handle.dataset.curve, Number(handle.dataset.index));
      event.preventDefault();
    } else if (down.size === 1) {
      pinch = { ...pinchAlone(event), tap: true };
    } else if (down.size === 2) {
      if (pulling) drop(false);
      pulling = null;
      pinch = pinchOf();
      pinch.at = sheet.point(pinch.x, pinch.y);
    }
  });

  function pinchAlone(event) {
    return {
      x: event.clientX,
      y: event.clientY,
      apart: 0,
      box: { ...sheet.box },
      at: sheet.point(event.clientX, event.clientY),
    };
  }

  svg.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) return;
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (pulling?.id === event.pointerId) {
      // A finger that only rests on a point has not pulled it.
      if (!pulling.moved && Math.hypot(event.clientX - pulling.x, event.clientY - pulling.y) < 4) return;
      pulling.moved = true;
      const at = sheet.point(event.clientX, event.clientY);
      pull(at.x < 0 ? 0 : at.r, at.z);
    } else if (pinch) {
      if (Math.hypot(event.clientX - pinch.x, event.clientY - pinch.y) > 6) pinch.tap = false;
      move(event);
    }
  });

  function move(event) {
    const two = down.size >= 2 ? pinchOf() : null;
    const factor = two && pinch.apart ? pinch.apart / two.apart : 1;
    const [x, y] = two ? [two.x, two.y] : [event.clientX, event.clientY];
    const scale = sheet.scale;
    const w = Math.min(6000, Math.max(5, pinch.box.w * factor));
    const h = (pinch.box.h / pinch.box.w) * w;
    sheet.setBox({ ...sheet.box, w, h });
    const now = sheet.point(x, y);
    sheet.setBox({
      x: sheet.box.x + pinch.at.x - now.x,
      y: sheet.box.y - pinch.at.z + now.z,
      w,
      h,
    });
    if (scale) viewed();
  }

  function up(event) {
    if (!down.delete(event.pointerId)) return;
    if (pulling?.id === event.pointerId) {
      drop(pulling.moved);
      pulling = null;
    } else if (pinch?.tap && down.size === 0) {
      place?.(sheet.point(event.clientX, event.clientY));
    }
    pinch = down.size === 1 ? pinchAlone(asEvent([...down.values()][0])) : null;
  }
  const asEvent = ({ x, y }) => ({ clientX: x, clientY: y });
  svg.addEventListener("pointerup", up);
  svg.addEventListener("pointercancel", up);
}
