/** Hands a text file to the browser's downloads. */
export function saveText(name: string, content: string, mediaType = 'application/json'): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([content], { type: mediaType }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
