/**
 * What every answer of the server carries; the same lines belong on any other server that serves the app
 * (README, "Serving it elsewhere"). No other origin, no inline script; WebAssembly may be compiled.
 */
export function securityHeaders(fhirOrigin?: string): Record<string, string> {
  const policy = [
    "default-src 'none'",
    "script-src 'self' 'wasm-unsafe-eval'",
    "worker-src 'self'",
    `connect-src 'self'${fhirOrigin ? ` ${fhirOrigin}` : ''}`,
    "style-src 'self'",
    "font-src 'self'",
    "img-src 'self' data: blob:",
    "media-src 'self' blob:",
    "manifest-src 'self'",
    "frame-ancestors 'none'",
    "base-uri 'none'",
    "form-action 'none'",
  ];
  const refused = [
    'accelerometer',
    'camera',
    'display-capture',
    'geolocation',
    'gyroscope',
    'hid',
    'idle-detection',
    'magnetometer',
    'midi',
    'payment',
    'publickey-credentials-get',
    'serial',
    'usb',
    'xr-spatial-tracking',
  ];
  return {
    'Content-Security-Policy': policy.join('; '),
    'Permissions-Policy': [
      'microphone=(self)',
      'screen-wake-lock=(self)',
      ...refused.map((name) => `${name}=()`),
    ].join(', '),
    'Cross-Origin-Opener-Policy': 'same-origin',
    'Cross-Origin-Embedder-Policy': 'require-corp',
    'Cross-Origin-Resource-Policy': 'same-origin',
    'Referrer-Policy': 'no-referrer',
    'X-Content-Type-Options': 'nosniff',
  };
}

/**
 * The one origin besides its own that the app may reach, for sending out (off until a person turns it on there).
 * HTTPS, or plain HTTP on this machine only; throws a sentence otherwise.
 */
export function readFhirOrigin(value: string | undefined): string | undefined {
  if (!value) return undefined;
  const url = URL.canParse(value) ? new URL(value) : undefined;
  const onThisMachine = url !== undefined && ['localhost', '127.0.0.1', '[::1]'].includes(url.hostname);
  if (!url || (url.protocol !== 'https:' && !(url.protocol === 'http:' && onThisMachine))) {
    throw new Error(
      `FHIR_ORIGIN must be an https address (or http on this machine), not "${value}". Nothing was started.`,
    );
  }
  return url.origin;
}
