/** One check case from outside the project: inputs, the expected result, how close is close enough, and who says so. */
export type ReferenceCase = {
  readonly id: string;
  readonly group: string;
  readonly quantity: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: Readonly<Record<string, unknown>>;
  readonly tolerance: { readonly abs?: number; readonly rel?: number };
  readonly source: string;
};

/** What our code gives for a case: values under the keys of `expected`, or why no function of ours covers it. */
export type ReferenceResult = { readonly values: Readonly<Record<string, unknown>> } | { readonly notCovered: string };

/** Maps a case to our function; `undefined` means that this adapter does not know the quantity. */
export type ReferenceAdapter = (referenceCase: ReferenceCase) => ReferenceResult | undefined;
