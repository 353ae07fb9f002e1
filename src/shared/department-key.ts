import { fromBase64url, toBase64url } from '../store/signature.ts';
import type { DepartmentCard } from './subjects.ts';

/** The department's private keys, as the file that set-up hands over holds them. Never on the server. */
export interface DepartmentKeyFile {
  format: 'utterlog-department-key';
  version: 1;
  name: string;
  /** Opens what is wrapped for the department: P-256, JWK. */
  wrap: JsonWebKey;
  /** Signs in the department's name: Ed25519, JWK. */
  sign: JsonWebKey;
}

export interface DepartmentKeys {
  name: string;
  wrapPrivate: CryptoKey;
  signPrivate: CryptoKey;
  wrapPublic: string;
  signPublic: string;
}

const WRAP = { name: 'ECDH', namedCurve: 'P-256' } as const;

const rawOf = (bytes: readonly string[], first: number[] = []): string =>
  toBase64url(new Uint8Array([...first, ...bytes.flatMap((part) => [...fromBase64url(part)])]));

/** The public halves as they stand on the department's card. */
const publicOf = ({ wrap, sign }: DepartmentKeyFile) => ({
  wrapPublic: rawOf([wrap.x!, wrap.y!], [4]),
  signPublic: rawOf([sign.x!]),
});

export async function newDepartmentKey(name: string): Promise<DepartmentKeyFile> {
  const wrap = await crypto.subtle.generateKey(WRAP, true, ['deriveBits']);
  const sign = (await crypto.subtle.generateKey('Ed25519', true, ['sign', 'verify'])) as CryptoKeyPair;
  return {
    format: 'utterlog-department-key',
    version: 1,
    name,
    wrap: await crypto.subtle.exportKey('jwk', wrap.privateKey),
    sign: await crypto.subtle.exportKey('jwk', sign.privateKey),
  };
}

export const cardOf = (
  file: DepartmentKeyFile,
  path: string,
  signIn?: DepartmentCard['signIn'],
): DepartmentCard => {
  const { wrapPublic, signPublic } = publicOf(file);
  return {
    format: 'utterlog-department',
    version: 1,
    name: file.name,
    path,
    wrapKey: wrapPublic,
    signKey: signPublic,
    ...(signIn ? { signIn } : {}),
  };
};

/** Keys for use in this browser, which gives them out no more. @throws a sentence where the text is no such file. */
export async function readDepartmentKey(text: string): Promise<DepartmentKeys> {
  const wrong = new Error(
    'This is no key of a department. Nothing was taken; choose the file that set-up wrote.',
  );
  let file: DepartmentKeyFile;
  try {
    file = JSON.parse(text) as DepartmentKeyFile;
  } catch {
    throw wrong;
  }
  if (file?.format !== 'utterlog-department-key' || file.version !== 1 || !file.wrap?.x || !file.sign?.x)
    throw wrong;
  try {
    return {
      name: String(file.name),
      wrapPrivate: await crypto.subtle.importKey('jwk', file.wrap, WRAP, false, ['deriveBits']),
      signPrivate: await crypto.subtle.importKey('jwk', file.sign, 'Ed25519', false, ['sign']),
      ...publicOf(file),
    };
  } catch {
    throw wrong;
  }
}

/** @throws a sentence where what the server hands out is no department's card. */
export function readCard(value: unknown): DepartmentCard {
  const card = value as Partial<DepartmentCard> | null;
  const text = (field: unknown) => typeof field === 'string' && field.length > 0;
  if (
    card?.format !== 'utterlog-department' ||
    ![card.name, card.path, card.wrapKey, card.signKey].every(text) ||
    !card.path!.startsWith('/')
  )
    throw new Error('This server says nothing of shared records. Nothing was turned on.');
  if (card.version !== 1)
    throw new Error('The server is of another version than this app. Reload the app and try again.');
  return card as DepartmentCard;
}
