const LEAST = 0.3;
const STEP = 0.02;

/**
 * Makes the letters of what is said smaller, by the style `--fit`, until all of it has room in `node`, whose size
 * does not depend on it, and no line runs into `corner`. To be called again when the words or the size change.
 */
export function fit(node: HTMLElement, corner?: HTMLElement): void {
  const full = () => {
    const { bottom, right } = node.getBoundingClientRect();
    return [...node.children].some((child) => {
      const box = child.getBoundingClientRect();
      const wide = child.scrollWidth > child.clientWidth + 1;
      return wide || box.bottom > bottom + 1 || box.right > right + 1;
    });
  };
  for (let size = 1; size >= LEAST; size -= STEP) {
    node.style.setProperty('--fit', size.toFixed(2));
    if (!full() && !runsInto(corner, node)) return;
  }
}

/** Whether a line of words in `node` reaches where `corner` stands. */
function runsInto(corner: HTMLElement | undefined, node: HTMLElement): boolean {
  if (!corner?.firstElementChild) return false;
  const { left, top } = corner.getBoundingClientRect();
  const walk = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
  const words = document.createRange();
  while (walk.nextNode()) {
    if (corner.contains(walk.currentNode)) continue;
    words.selectNodeContents(walk.currentNode);
    const lines = [...words.getClientRects()];
    if (lines.some((line) => line.right > left && line.bottom > top)) return true;
  }
  return false;
}
