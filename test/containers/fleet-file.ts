import { readFileSync } from 'node:fs';
import { parse } from 'yaml';

type Service = { readonly image?: string; readonly environment?: Readonly<Record<string, string>> };

/** Image and environment of a service in docker-compose.fleet.yml. */
export function containerOf(name: string): { readonly image: string; readonly environment: Record<string, string> } {
  const text = readFileSync(new URL('../../docker-compose.fleet.yml', import.meta.url), 'utf8');
  const { services } = parse(text, { merge: true }) as { services: Readonly<Record<string, Service>> };
  const service = services[name];
  if (service?.image === undefined) throw new Error(`${name} is a service with an image`);
  return { image: service.image, environment: { ...service.environment } };
}
