/** What the browser tells of the battery; only some tell anything. */
export interface Battery {
  level: number;
  charging: boolean;
}

interface BatteryManager extends Battery, EventTarget {}

/** Below this share of a battery that is not charging, a person is told. Project choice, no source. */
const LEAST = 0.25;
const CHANGES = ['levelchange', 'chargingchange'];

export const lastsOn = ({ level, charging }: Battery): boolean => charging || level > LEAST;

/** Calls back with the battery's state now and after each change, where the browser has it; returns what stops it. */
export function watchBattery(tell: (battery: Battery) => void): () => void {
  const { getBattery } = navigator as { getBattery?: () => Promise<BatteryManager> };
  let stop = () => {};
  let over = false;
  void getBattery
    ?.call(navigator)
    .then((battery) => {
      if (over) return;
      const now = () => tell({ level: battery.level, charging: battery.charging });
      for (const change of CHANGES) battery.addEventListener(change, now);
      stop = () => CHANGES.forEach((change) => battery.removeEventListener(change, now));
      now();
    })
    .catch(() => {});
  return () => {
    over = true;
    stop();
  };
}
