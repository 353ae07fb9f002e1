const LEAST = 0.3;
const STEP = 0.02;

/**
 * Makes the letters of what is said smaller, by the style `--fit`, until all of it has room in `node`, whose size
 * does not depend on it. To be called again when the words or the size change.
 */
export function fit(node: HTMLElement): void {
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
    if (!full()) return;
  }
}
