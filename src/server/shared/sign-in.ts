import { createHash } from 'node:crypto';
import { createRemoteJWKSet, jwtVerify } from 'jose';
import { ROLES, type Role } from '../../shared/subjects.ts';

/** The hospital's OpenID provider, as its IT registered this department there. */
export interface SignInSettings {
  issuer: string;
  authorizationEndpoint: string;
  tokenEndpoint: string;
  jwksUri: string;
  clientId: string;
  clientSecret?: string;
  scope: string;
  /** The claim that lists a person's groups, and which group has which roles here. */
  rolesClaim: string;
  roles: Record<string, Role[]>;
}

const ANSWER_MS = 5_000;

/**
 * Turns the code that the provider gave the browser into a person with roles (authorization code with PKCE). The
 * gate asks the provider itself: the browser never holds a token, and the app's policy stays as it is.
 * @throws a sentence where the provider does not vouch for the person, or gives no role here.
 */
export async function signedIn(
  settings: SignInSettings,
  claimed: { code: string; verifier: string; redirectUri: string },
): Promise<{ id: string; name: string; roles: Role[] }> {
  const form = new URLSearchParams({
    grant_type: 'authorization_code',
    code: claimed.code,
    code_verifier: claimed.verifier,
    redirect_uri: claimed.redirectUri,
    client_id: settings.clientId,
  });
  if (settings.clientSecret) form.set('client_secret', settings.clientSecret);
  const response = await fetch(settings.tokenEndpoint, {
    method: 'POST',
    body: form,
    signal: AbortSignal.timeout(ANSWER_MS),
  }).catch(() => null);
  const tokens = response?.ok ? ((await response.json()) as { id_token?: string }) : null;
  if (!tokens?.id_token)
    throw new Error('The hospital’s sign-in did not confirm you. Nothing was opened; sign in again.');
  const { payload } = await jwtVerify(tokens.id_token, createRemoteJWKSet(new URL(settings.jwksUri)), {
    issuer: settings.issuer,
    audience: settings.clientId,
  }).catch(() => {
    throw new Error('The answer of the hospital’s sign-in is not signed by it. Nothing was opened.');
  });
  const groups = [payload[settings.rolesClaim]].flat().filter((group) => typeof group === 'string');
  const roles = ROLES.filter((role) => groups.some((group) => settings.roles[group]?.includes(role)));
  if (roles.length === 0)
    throw new Error(
      'You are signed in, but none of your groups has a role in this department. Ask whoever administers it.',
    );
  const id = createHash('sha256').update(`${settings.issuer} ${payload.sub}`).digest('hex').slice(0, 16);
  const name = typeof payload.name === 'string' ? payload.name : String(payload.sub);
  return { id, name, roles };
}
