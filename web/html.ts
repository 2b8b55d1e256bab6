/** Markup that is safe to send: every value that went into it was escaped, or was markup itself. */
export type Html = { readonly markup: string };

/** What may stand in a template: markup, text and numbers (escaped), lists of them; nothing for `undefined` and `false`. */
export type HtmlValue = Html | string | number | undefined | false | readonly HtmlValue[];

/**
 * Template tag that builds markup: values are escaped unless they are markup themselves.
 *
 * @example html`<p>${'a < b'}</p>`.markup // => '<p>a &lt; b</p>'
 */
export function html(parts: TemplateStringsArray, ...values: readonly HtmlValue[]): Html {
  let markup = parts[0] ?? '';
  values.forEach((value, index) => {
    markup += render(value) + (parts[index + 1] ?? '');
  });
  return { markup };
}

/** Text as it may stand in an element or in a quoted attribute (WHATWG HTML, section 13.3). */
export function escapeText(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}

function render(value: HtmlValue): string {
  if (value === undefined || value === false) return '';
  if (typeof value === 'string') return escapeText(value);
  if (typeof value === 'number') return String(value);
  return 'markup' in value ? value.markup : value.map(render).join('');
}
