/**
 * The document without its style sheets, and their text. Works on the note's own HTML, in which every value is
 * escaped: the only `<style>` is the one that the note itself wrote. (A parser would try to apply the style.)
 */
export function splitStyles(html: string): { html: string; css: string } {
  const css: string[] = [];
  const rest = html.replace(/<style>([\s\S]*?)<\/style>/g, (_whole, sheet: string) => {
    css.push(sheet);
    return '';
  });
  return { html: rest, css: css.join('\n') };
}
