import { createHmac, timingSafeEqual } from 'node:crypto';
import { isToken, ROLES, type Role } from '../../shared/subjects.ts';

/**
 * A person's pass: what somebody of the department may do. Or a device's admission to one record.
 * Bound to this server by its key; needs no list on the server, so that a server that lost its disk still knows it.
 */
export type Grant =
  | { kind: 'person'; id: string; name: string; roles: Role[]; untilMs: number }
  | { kind: 'device'; recordId: string; lane: string; writes: boolean; untilMs: number };

const mac = (key: Uint8Array, body: string): Buffer => createHmac('sha256', key).update(body).digest();

export function writeGrant(key: Uint8Array, grant: Grant): string {
  const body = Buffer.from(JSON.stringify(grant)).toString('base64url');
  return `${body}.${mac(key, body).toString('base64url')}`;
}

/** The grant, or why it is none. */
export function readGrant(key: Uint8Array, text: unknown, nowMs: number): Grant | { refused: string } {
  const [body, tag, ...more] = typeof text === 'string' ? text.split('.') : [];
  const right = body && tag && more.length === 0 ? mac(key, body) : null;
  const given = Buffer.from(tag ?? '', 'base64url');
  if (!right || given.length !== right.length || !timingSafeEqual(given, right))
    return {
      refused:
        'This pass was not made by this server. Nothing was sent. Ask the department for a pass of its own server.',
    };
  const grant = JSON.parse(Buffer.from(body!, 'base64url').toString()) as Grant;
  if (grant.untilMs < nowMs)
    return {
      refused:
        'This pass has run out. What is on this device stays and can be exported. Ask for a new pass, or join the record again.',
    };
  return grant;
}

export const isRoles = (roles: unknown): roles is Role[] =>
  Array.isArray(roles) && roles.length > 0 && roles.every((role) => ROLES.includes(role as Role));

export { isToken };
