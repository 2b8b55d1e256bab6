import type { Severity } from '../schemas/finding.ts';
import type { TaskState } from '../schemas/task.ts';
import { type Html, html } from './html.ts';

/** How a unit stands. The first three are the worst severity of its open findings. */
export type Condition = Severity | 'normal' | 'learning' | 'outside' | 'stale' | 'no_data';

/**
 * Shapes and colours by the meanings of IEC 60073: red danger, yellow abnormal, green normal, blue an action is
 * required, white no meaning of its own. Each has its own shape and stands beside its word: colour is never alone.
 */
const SHAPES = {
  red: 'M10 1l9 9-9 9-9-9z',
  yellow: 'M10 2l9 16H1z',
  white: 'M10 2a8 8 0 1 0 .01 0z',
  green: 'M3 3h14v14H3z',
  blue: 'M2 5h10l6 5-6 5H2z',
} as const;
const INNER = {
  red: 'M10 5v6M10 13.2v1.6',
  yellow: 'M10 8v5M10 14.6v1.4',
  white: 'M6.5 10h7',
  green: 'M6 10.5l3 3 5-6.5',
  blue: '',
} as const;
type Colour = keyof typeof SHAPES;

const CONDITIONS: Readonly<Record<Condition, { colour: Colour; word: string }>> = {
  high: { colour: 'red', word: 'High' },
  medium: { colour: 'yellow', word: 'Medium' },
  low: { colour: 'white', word: 'Low' },
  normal: { colour: 'green', word: 'As expected' },
  learning: { colour: 'white', word: 'Learning what is normal' },
  outside: { colour: 'white', word: 'Running outside what was learnt' },
  stale: { colour: 'white', word: 'No recent data' },
  no_data: { colour: 'white', word: 'No data yet' },
};

const STATES: Readonly<Record<TaskState, string>> = {
  open: 'Open',
  taken: 'Taken',
  closed: 'Closed, awaiting proof',
  verified: 'Verified',
  reopened: 'Reopened',
};

/** What a state of a task is called. */
export function stateWord(state: TaskState): string {
  return STATES[state];
}

/** A condition or severity as shape, colour and word. */
export function conditionMark(condition: Condition): Html {
  const { colour, word } = CONDITIONS[condition];
  return html`<span class="mark-word">${shape(colour)}<span>${word}</span></span>`;
}

/** The sign that somebody must act, as shape, colour and the given word. */
export function actionMark(word: string): Html {
  return html`<span class="mark-word">${shape('blue')}<span>${word}</span></span>`;
}

function shape(colour: Colour): Html {
  return html`<svg class="shape ${colour}" viewBox="0 0 20 20" aria-hidden="true"><path class="body" d="${SHAPES[colour]}"/><path class="inner" d="${INNER[colour]}"/></svg>`;
}
