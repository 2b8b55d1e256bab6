import { html } from './html.ts';
import { type PageFrame, page } from './layout.ts';

/** The page that says what went wrong and what to do next. */
export function problemPage(frame: PageFrame, p: { title: string; detail: string }): string {
  return page(frame, {
    title: p.title,
    main: html`<h1>${p.title}</h1><div class="message wrong"><p>${p.detail}</p></div><p class="lead"><a href="/">To the tasks</a></p>`,
  });
}
