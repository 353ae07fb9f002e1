import type { Frame, Page } from 'playwright-core';

/** Widths that every screen must be right at, with a height that such a device has. */
export const SIZES = [
  { width: 360, height: 640 },
  { width: 768, height: 1024 },
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
] as const;

/** What can be pressed and is smaller than 48 px, with its size; links inside a sentence are exempt. */
export function smallTargets(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const pressable =
      'button, a.button, select, summary, input:not([type=checkbox], [type=radio], [type=file])';
    const boxed =
      'label:has(input[type=checkbox]), label:has(input[type=radio]), label:has(input[type=file])';
    return [...document.querySelectorAll<HTMLElement>(`${pressable}, ${boxed}`)].flatMap((element) => {
      const { width, height } = element.getBoundingClientRect();
      if (width === 0 || !element.checkVisibility() || element.closest('.out-of-sight, .skip')) return [];
      // Half a pixel of rounding is no smaller target.
      if (width >= 47.5 && height >= 47.5) return [];
      return [`${element.tagName} “${element.textContent?.trim() ?? ''}” ${width} × ${height}`];
    });
  });
}

/** How far the page can be scrolled sideways, px: 0 where everything fits. */
export const sidewaysPx = (page: Page | Frame): Promise<number> =>
  page.evaluate(() => document.scrollingElement!.scrollWidth - innerWidth);

/** What reaches beyond the right edge of the page, to find the reason where it scrolls sideways. */
export const beyondTheEdge = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('main *:not(.out-of-sight)')]
      .filter(
        (element) => element.getBoundingClientRect().right > innerWidth + 0.5 && element.checkVisibility(),
      )
      .map(
        (element) =>
          `${element.tagName} ${element.className} “${element.textContent?.trim().slice(0, 40) ?? ''}”`,
      ),
  );

/** 1280 px at 200 % zoom leave 640 CSS px; 320 px are the reflow of WCAG 2.2, 1.4.10. */
export const ZOOMED = [
  { width: 640, height: 400 },
  { width: 320, height: 256 },
] as const;

/** What hides a part of its own words, or lies outside the page, with no way to scroll there. */
export const cutOff = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('main *')].flatMap((element) => {
      if (!element.checkVisibility() || element.closest('.out-of-sight, svg')) return [];
      const { left, right, width } = element.getBoundingClientRect();
      // A field that nobody sees: its label stands for it.
      if (width === 0 || getComputedStyle(element).opacity === '0') return [];
      const scrolls = (around: Element | null): boolean =>
        around !== null &&
        (/auto|scroll/.test(getComputedStyle(around).overflowX) || scrolls(around.parentElement));
      const hidden =
        /hidden|clip/.test(getComputedStyle(element).overflowX) &&
        element.scrollWidth > element.clientWidth + 1;
      const outside = (left < -0.5 || right > innerWidth + 0.5) && !scrolls(element.parentElement);
      const words = element.textContent?.trim().slice(0, 40) ?? '';
      return hidden || outside ? [`${element.tagName} ${element.className} “${words}”`] : [];
    }),
  );

export interface Letters {
  text: string;
  /** Height of its capitals as drawn, px. */
  capitalPx: number;
}

/** Height of the capitals of each line of the strip, and of the digits of the running clock. */
export function letters(page: Page): Promise<{ strip: Letters[]; clock: Letters; largestOther: number }> {
  return page.evaluate(() => {
    const context = document.createElement('canvas').getContext('2d')!;
    const capitalPx = (element: Element, sample: string) => {
      const { fontWeight, fontSize, fontFamily } = getComputedStyle(element);
      context.font = `${fontWeight} ${fontSize} ${fontFamily}`;
      return context.measureText(sample).actualBoundingBoxAscent;
    };
    const lines = [...document.querySelectorAll('.strip [data-far], .strip [data-far] span')];
    const clock = document.querySelector('[data-main-clock]')!;
    const others = [...document.querySelectorAll<HTMLElement>('body *')].filter(
      (element) => element !== clock && !element.contains(clock) && element.textContent?.trim(),
    );
    const told = (element: Element, sample: string) => ({
      text: element.textContent!.trim(),
      capitalPx: capitalPx(element, sample),
    });
    return {
      strip: lines.map((line) => told(line, 'H')),
      clock: told(clock, '0'),
      largestOther: Math.max(...others.map((element) => capitalPx(element, '0'))),
    };
  });
}
