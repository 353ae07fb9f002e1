/** Half a day: a clock that seems further off is taken to be off the other way round midnight. */
const HALF_DAY_MS = 12 * 3600_000;

/**
 * How far the room's clock is ahead of the device's.
 * @param shown what the room's clock shows, "14:02" or "14:02:30".
 * @param device the device's time at that moment.
 * @returns ms, negative where the room's clock is behind; null where the text is no clock time. A time
 * without seconds is read as the middle of its minute.
 */
export function roomMinusDevice(shown: string, device: Date): number | null {
  const match = /^\s*([01]?\d|2[0-3])[:.]([0-5]\d)(?:[:.]([0-5]\d))?\s*$/.exec(shown);
  if (match === null) return null;
  const [, hours, minutes, seconds] = match;
  const roomMs = (Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds ?? 30)) * 1000;
  const deviceMs =
    (device.getHours() * 3600 + device.getMinutes() * 60 + device.getSeconds()) * 1000 +
    device.getMilliseconds();
  const difference = roomMs - deviceMs;
  if (difference > HALF_DAY_MS) return difference - 2 * HALF_DAY_MS;
  if (difference < -HALF_DAY_MS) return difference + 2 * HALF_DAY_MS;
  return difference;
}
