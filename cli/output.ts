/** Writes one line of data. Data goes to stdout, so that it can be piped; everything for people goes through {@link say}. */
export function print(line: string): void {
  process.stdout.write(`${line}\n`);
}

/** Writes one record as a JSON line. */
export function printJson(record: unknown): void {
  print(JSON.stringify(record));
}

/** Says something to the person at the terminal, on stderr. */
export function say(text: string): void {
  process.stderr.write(`${text}\n`);
}

/**
 * Rows as a table for people: columns as wide as their widest cell, numbers not aligned specially, no colour.
 *
 * @returns Nothing for no rows but the header: an empty list is shown as its header, so that it is seen to be empty.
 */
export function printTable(header: readonly string[], rows: readonly (readonly string[])[]): void {
  for (const line of tableLines(header, rows)) print(line);
}

/** The lines of a table; see {@link printTable}. */
export function tableLines(header: readonly string[], rows: readonly (readonly string[])[]): readonly string[] {
  const widths = header.map((title, i) => Math.max(title.length, ...rows.map((row) => (row[i] ?? '').length)));
  return [header, ...rows].map((row) =>
    row
      .map((cell, i) => (i === row.length - 1 ? cell : cell.padEnd(widths[i] ?? 0)))
      .join('  ')
      .trimEnd(),
  );
}

/** Whether a list is to be printed as JSON lines: when asked for, or when no person sits at the other end. */
export function wantsJson(options: { readonly json?: boolean; readonly table?: boolean }): boolean {
  if (options.json === true) return true;
  return options.table !== true && process.stdout.isTTY !== true;
}
