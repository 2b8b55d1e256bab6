/** The four end temperatures of a heat exchanger, °C. */
export type StreamTemperatures = {
  readonly hotInC: number;
  readonly hotOutC: number;
  readonly coldInC: number;
  readonly coldOutC: number;
};

/** Whether the hot stream enters hotter, only cools, the cold only warms, and neither passes the other's inlet. */
export function isTemperatureSet(p: StreamTemperatures): boolean {
  const cools = p.hotInC > p.coldInC && p.hotOutC <= p.hotInC && p.hotOutC >= p.coldInC;
  return cools && p.coldOutC >= p.coldInC && p.coldOutC <= p.hotInC;
}
