import {
  type Document,
  isAlias,
  isCollection,
  isMap,
  isNode,
  isPair,
  isScalar,
  isSeq,
  type LineCounter,
  type Node,
} from 'yaml';

/** Where in a YAML text something stands; both counted from 1. */
export type YamlPlace = { readonly line: number; readonly column: number };

/** A place in a document and what is written there. */
export type YamlFound = {
  readonly place: YamlPlace;
  /** False when the path leads to nothing: the place is then that of the nearest thing around it. */
  readonly present: boolean;
};

/**
 * The place that a person should look at for a path into a document.
 *
 * @param p.path - Keys and list indices from the top.
 * @returns The place of a plain value, of the key before a list or a group of fields, or of the `- ` item; for a path
 *   that leads to nothing, of the innermost part that exists.
 */
export function placeOf(p: { document: Document; lines: LineCounter; path: readonly PropertyKey[] }): YamlFound {
  let node = resolved(p.document, p.document.contents);
  let offset = offsetOf(node) ?? 0;
  for (const step of p.path) {
    const next = stepInto(p.document, node, step);
    if (next === undefined) return { place: toPlace(p.lines, offset), present: false };
    node = next.node;
    offset = next.offset ?? offset;
  }
  return { place: toPlace(p.lines, offset), present: true };
}

/** The place of a key itself, for a field that should not be there; that of the group around it when it is not found. */
export function placeOfKey(p: {
  document: Document;
  lines: LineCounter;
  path: readonly PropertyKey[];
  key: string;
}): YamlPlace {
  let node = resolved(p.document, p.document.contents);
  for (const step of p.path) node = stepInto(p.document, node, step)?.node;
  if (isMap(node)) {
    const pair = node.items.find((item) => keyText(item.key) === p.key);
    const offset = pair !== undefined && isNode(pair.key) ? offsetOf(pair.key) : undefined;
    if (offset !== undefined) return toPlace(p.lines, offset);
  }
  return placeOf(p).place;
}

type Step = { readonly node: Node | undefined; readonly offset: number | undefined };

function stepInto(document: Document, node: Node | undefined, step: PropertyKey): Step | undefined {
  if (isMap(node)) {
    const pair = node.items.find((item) => keyText(item.key) === String(step));
    if (pair === undefined) return undefined;
    const value = resolved(document, isNode(pair.value) ? pair.value : undefined);
    const keyOffset = isNode(pair.key) ? offsetOf(pair.key) : undefined;
    // A list or group begins on a line of its own; what a person looks for is its name, one line above.
    const plainValue = isScalar(value) && value.value !== null && pair.value === value;
    return { node: value, offset: plainValue ? offsetOf(value) : keyOffset };
  }
  if (isSeq(node)) {
    const item: unknown = typeof step === 'number' ? node.items[step] : undefined;
    if (item === undefined) return undefined;
    const value = isPair(item) ? undefined : isNode(item) ? item : undefined;
    return { node: resolved(document, value), offset: offsetOf(value) };
  }
  return undefined;
}

function resolved(document: Document, node: unknown): Node | undefined {
  if (isAlias(node)) return node.resolve(document);
  return isCollection(node) || isScalar(node) ? node : undefined;
}

function keyText(key: unknown): string {
  return isScalar(key) ? String(key.value) : String(key);
}

function offsetOf(node: Node | null | undefined): number | undefined {
  return node?.range?.[0];
}

function toPlace(lines: LineCounter, offset: number): YamlPlace {
  const { line, col } = lines.linePos(offset);
  return { line: Math.max(1, line), column: Math.max(1, col) };
}
