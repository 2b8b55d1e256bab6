import type { Severity } from '../schemas/finding.ts';

const HOUR_MS = 3_600_000;

/**
 * How soon to inspect, from the report of a finding, where no time to a limit shortens it. A proposal of this project,
 * no source: high is the next working day, medium the next week, low the next planned stop.
 */
export const INSPECT_WITHIN_MS: Readonly<Record<Severity, number>> = {
  high: 24 * HOUR_MS,
  medium: 7 * 24 * HOUR_MS,
  low: 30 * 24 * HOUR_MS,
};

/** {@link INSPECT_WITHIN_MS} in words, for the reason that a task gives. */
export const INSPECT_WITHIN_WORDS: Readonly<Record<Severity, string>> = {
  high: '24 hours',
  medium: '7 days',
  low: '30 days',
};

/**
 * Share of the probability that the leading causes must hold together before the list of causes to check for ends.
 * Common practice, no source: four in five, so that one cause far ahead is checked alone and a tie is checked as one.
 */
export const LEADING_CAUSES_MASS = 0.8;

/** Most causes whose steps one task merges; beyond it a work sheet is too long to be followed. Common practice. */
export const LEADING_CAUSES_MAX = 4;

/** How often a change of a task is tried again when somebody else changed the same unit's book in between. */
export const COMMIT_ATTEMPTS_MAX = 8;

/** Longest text a person may enter in one field, characters; keeps the book of a unit bounded. */
export const ENTERED_TEXT_MAX = 2000;

/** Age of the newest operating point from which a unit counts as without recent data. Common practice, no source. */
export const STALE_AFTER_MS = 7 * 24 * HOUR_MS;

/** Shortest and longest run of data before the onset that a chart shows beside the departure. */
export const CHART_BEFORE_MIN_MS = 3 * 24 * HOUR_MS;
export const CHART_BEFORE_MAX_MS = 60 * 24 * HOUR_MS;

/** Time columns of a chart on a page: as many as can be told apart on its narrow drawing. */
export const CHART_COLUMNS = 72;

/** Fine parts that the history is asked for and that {@link CHART_COLUMNS} are joined from. */
export const CHART_PARTS = 1440;

/** Most columns that one request for a series may ask for. */
export const SERIES_BUCKETS_MAX = 2000;

/** Most tasks on one page, and how many of them have a chart; beyond it a page is slow to draw and nobody reads on. */
export const LISTED_TASKS_MAX = 200;
export const CHARTED_TASKS_MAX = 40;
