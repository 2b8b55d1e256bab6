/** How to reach a database of time series and what to use there. */
export type InfluxSettings = {
  /** Address of the server, `http://HOST:PORT` or `https://HOST:PORT`. */
  readonly url: string;
  readonly org: string;
  readonly bucket: string;
  /** API token with the right to read and write the bucket. */
  readonly token: string;
};

export const DEFAULT_ORG = 'chargeair';
export const DEFAULT_BUCKET = 'chargeair';

/**
 * Reads the address of a history: `influx+http://HOST:PORT[/BUCKET][?org=ORG]`, or `influx+https://…`. The token has no
 * place in it: addresses end up in listings.
 *
 * @returns All but the token, or a sentence that says what is wrong.
 */
export function parseInfluxUrl(text: string): Omit<InfluxSettings, 'token'> | string {
  const usage = `"${text}" is no address of a history; write influx+http://HOST:PORT/BUCKET?org=ORG.`;
  if (!/^influx\+https?:\/\//.test(text) || !URL.canParse(text.slice('influx+'.length))) return usage;
  const url = new URL(text.slice('influx+'.length));
  if (url.username !== '' || url.password !== '') {
    return 'An address holds no password; give the token by the environment.';
  }
  const strange = [...url.searchParams.keys()].find((name) => name !== 'org');
  if (strange !== undefined) return `"${strange}" cannot be set in the address of a history; there is org.`;
  const bucket = decodeURIComponent(url.pathname.slice(1));
  const org = url.searchParams.get('org') ?? '';
  return {
    url: url.origin,
    org: org === '' ? DEFAULT_ORG : org,
    bucket: bucket === '' ? DEFAULT_BUCKET : bucket,
  };
}
