import type { Page } from 'playwright-core';

/** Sizes of the live screen's fixed frame. */
export const FRAMES = [
  { width: 360, height: 640 },
  { width: 640, height: 360 },
  { width: 768, height: 1024 },
  { width: 1024, height: 768 },
  { width: 1280, height: 720 },
  { width: 1366, height: 641 },
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
] as const;

/** A panel of 13.3 inches, 337.8 mm across. */
export const panelMmAcross = 13.3 * 25.4;

/** What the frame shows, as it was drawn; px. Runs in the page, so it stands alone. */
export function measureFrame() {
  const context = document.createElement('canvas').getContext('2d')!;
  const capitalPx = (element: Element) => {
    const { fontWeight, fontSize, fontFamily } = getComputedStyle(element);
    context.font = `${fontWeight} ${fontSize} ${fontFamily}`;
    return context.measureText('H').actualBoundingBoxAscent;
  };
  const all = (selector: string) => [...document.querySelectorAll<HTMLElement>(selector)];
  const seen = (selector: string) => all(selector).filter((element) => element.checkVisibility());
  /** Parts that must be whole: inside the window and not cut off by what is around them. */
  const whole =
    '.strip, .strip .what, .strip .button, [data-main-clock], .clocks .name, [data-under-way] dt, [data-under-way] dd, ' +
    '.bar .told, .bar .wake, .foot .mark, .foot .button, [role=alert], [role=alert] .button';
  const cut = seen(whole).flatMap((element) => {
    const box = element.getBoundingClientRect();
    let [top, bottom, left, right] = [0, innerHeight, 0, innerWidth];
    for (let around = element.parentElement; around; around = around.parentElement) {
      if (getComputedStyle(around).overflowY === 'visible') continue;
      const edge = around.getBoundingClientRect();
      [top, bottom] = [Math.max(top, edge.top), Math.min(bottom, edge.bottom)];
      [left, right] = [Math.max(left, edge.left), Math.min(right, edge.right)];
    }
    // The letters' line reaches above and below what is drawn: a tenth of it is air.
    const air = parseFloat(getComputedStyle(element).fontSize) * 0.1 + 1;
    const inside =
      box.top >= top - air && box.bottom <= bottom + air && box.left >= left - 1 && box.right <= right + 1;
    const spills =
      element.scrollWidth > element.clientWidth + 1 && getComputedStyle(element).display !== 'inline';
    return inside && !spills
      ? []
      : [`${element.className || element.tagName} “${element.textContent!.trim().slice(0, 40)}”`];
  });
  const boxes = Object.fromEntries(
    ['.strip', '[data-main-clock]', '.clocks dl', '.foot'].map((selector) => {
      const { top, left, height } = document.querySelector(selector)!.getBoundingClientRect();
      return [selector, [top, left, height].map(Math.round)];
    }),
  );
  return {
    cut,
    boxes,
    alerts: seen('[role=alert]').length,
    mark: seen('.mark').length,
    scrollsBy: Math.max(
      document.scrollingElement!.scrollHeight - innerHeight,
      document.scrollingElement!.scrollWidth - innerWidth,
    ),
    stripCapitalPx: Math.min(...seen('.strip .told [data-far] span').map(capitalPx)),
    underWayCapitalPx: Math.min(...seen('[data-under-way] dt').map(capitalPx)),
    underWay: seen('[data-under-way] dt').map((element) => element.textContent),
    clockCapitalPx: capitalPx(document.querySelector('[data-main-clock]')!),
    listLines: seen('.inside > section:last-child li').filter(
      (element) => element.getBoundingClientRect().left < innerWidth,
    ).length,
  };
}

export type Frame = ReturnType<typeof measureFrame>;
export const frameOf = (page: Page): Promise<Frame> => page.evaluate(measureFrame);
