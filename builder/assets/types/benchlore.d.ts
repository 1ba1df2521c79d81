// The one namespace of the browser's scripts. `twin` is written from Python: builder/twin_scripts.py.

interface BenchloreDom {
  all(root: ParentNode, selector: string): HTMLElement[];
  one(root: ParentNode, selector: string): HTMLElement;
  write(node: Element, text: string): void;
  make(tag: string, attributes?: Record<string, string>, words?: string): HTMLElement;
  makeButton(words: string, press: () => void): HTMLButtonElement;
  attribute(node: Element, name: string): string;
}

/** What was typed: a text, or for rows a text by column. */
type Typed = string | Record<string, string>[];

interface CalculationError {
  input: string;
  message: string;
  /** Which row, from 1, where only one is wrong. */
  row?: number;
}

interface Band {
  text: string;
  us: string;
  mostly: string;
}

interface Calculation {
  errors?: CalculationError[];
  outputs: Record<string, { text: string; us: string; band?: Band }>;
  warnings?: { id: string; message: string }[];
}

interface PlotData {
  shape: unknown;
  wide: [number, number];
  narrow: [number, number];
}

interface Twin {
  choose_lessons(lessons: unknown, skills: string[], named: string[], known: string[]): string[];
  sum_times(lessons: unknown, chosen: string[]): [number, number];
  write_span(seconds: number): string;
  format_quantity(base: number, unit: string, style: string, places: number): string;
  format_us(base: number, unit: string, style: string, places: number): string;
  draw_plot(shape: unknown, points: unknown, width: number, height: number, name: string): string;
  join_typed(text: string, unit: string): string;
  is_bare(text: string): boolean;
  mark_order(given: number[], right: number[]): [string, number];
  mark_number(units: unknown, item: unknown, typed: string): [string, any];
}

interface Benchlore {
  texts: Record<string, string | Record<string, string>>;
  words(key: string, values?: Record<string, string | number>): string;
  dom: BenchloreDom;
  /** Address with anchor, title, text, and title of the page or "". */
  searchIndex: string[][];
  SCHEME_KEY: string;
  setScheme(scheme: string | null): void;
  isDark(): boolean;
  recall(key: string): string | null;
  remember(key: string, value: string): void;
  twin: Twin;
  calculators: Record<string, { description: { inputs: { shown: number }[] } }>;
  calculate(id: string, raw: Record<string, Typed>): Calculation;
  samplePlot(id: string, raw: Record<string, Typed>): unknown;
  listShown(id: string, raw: Record<string, Typed>): string[];
  partTyped(id: string, typed: string, options: string[]): [string, string];
  convertTyped(id: string, typed: string, unit: string): string;
  partRows(id: string, name: string, typed: string): string[][];
}

interface Window {
  benchlore: Benchlore;
}
