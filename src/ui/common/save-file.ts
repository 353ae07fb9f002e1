/** Hands a file to the browser's downloads. */
export function saveFile(name: string, mediaType: string, content: string | Uint8Array<ArrayBuffer>): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([content], { type: mediaType }));
  link.download = name;
  link.click();
  // Some browsers read the address only after the click has returned.
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
