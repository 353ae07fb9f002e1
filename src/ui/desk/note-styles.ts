/** The document without its style sheets, and their text. */
export function splitStyles(html: string): { html: string; css: string } {
  const document = new DOMParser().parseFromString(html, 'text/html');
  const sheets = [...document.querySelectorAll('style')];
  for (const sheet of sheets) sheet.remove();
  return {
    html: `<!doctype html>${document.documentElement.outerHTML}`,
    css: sheets.map((sheet) => sheet.textContent ?? '').join('\n'),
  };
}
