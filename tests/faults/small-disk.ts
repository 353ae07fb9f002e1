import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Holds the browser's profile with the app and the speech model. */
const SIZE = '400m';

export interface SmallDisk {
  /** For a browser's profile. */
  folder: string;
  fill: () => void;
  empty: () => void;
  forget: () => void;
}

/** A file system in memory that can be filled up without harm; null where this user may not mount one. */
export function smallDisk(): SmallDisk | null {
  const mount = mkdtempSync(join(tmpdir(), 'utterlog-disk-'));
  const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${SIZE}`, 'tmpfs', mount]).status === 0;
  if (!mounted) {
    rmSync(mount, { recursive: true });
    return null;
  }
  const folder = join(mount, 'profile');
  mkdirSync(folder);
  const files: string[] = [];
  return {
    folder,
    fill: () => {
      // Large pieces first, then what is left down to the last page.
      for (let bytes = 16 * 1024 * 1024; bytes >= 4096;) {
        const file = join(mount, `filler-${files.length}`);
        files.push(file);
        try {
          writeFileSync(file, Buffer.alloc(bytes, 1));
        } catch {
          bytes = Math.floor(bytes / 2);
        }
      }
    },
    empty: () => {
      for (const file of files.splice(0)) rmSync(file, { force: true });
    },
    forget: () => {
      spawnSync('umount', ['--lazy', mount]);
      rmSync(mount, { recursive: true, force: true });
    },
  };
}
