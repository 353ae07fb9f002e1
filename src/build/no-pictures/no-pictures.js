/** In place of a picture library. */
export default function noPictures() {
  throw new Error('No pictures are read here.');
}
