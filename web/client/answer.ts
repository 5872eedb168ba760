// The shape of /api/predict, as web/api.go and web/curve.go write it.

export interface Field {
  place: string[];
  group: "flask" | "burette" | "cell";
  label: string;
  value: string;
  unit: string;
  rest: string;
  min: number;
  max: number;
  step: number;
  choices?: string[];
  sought: boolean;
}

export type Column = (number | null)[];

export interface Mark {
  kind: "half" | "equivalence" | "twice";
  species: string;
  volume_mL: number;
  standard_uncertainty_mL: number;
  reading: number | null;
}

export interface Stretch {
  from_mL: number;
  to_mL: number;
  words: string;
  swatch?: string;
}

export interface Curve {
  axis: string;
  symbol: string;
  unit: string;
  reference: string;
  titrant: string;
  reading_uncertainty?: number;
  volume_mL: number[];
  reading: Column;
  slope?: Column;
  pH?: Column;
  species: { name: string; solid: boolean; mol_per_L: number[] }[];
  shares: { of: string; shares: { name: string; share: number[] }[] }[] | null;
  landmarks: Mark[];
  colours: Stretch[];
  governs: Stretch[];
  undefined?: string;
}

export interface Problem {
  message: string;
  line?: number;
  column?: number;
  key?: string;
  excerpt?: string;
}

export interface Prediction {
  setup: string;
  title: string;
  fields: Field[];
  curve?: Curve;
  warnings: string[];
  notes: string[];
  problem?: Problem;
}

// The shape of /api/feasibility, as web/feasibility.go and report/planview.go
// write it.

export interface Indicator {
  name: string;
  point: string;
  volume_mL: number;
  error: string;
  fits: boolean;
  colours: [string, string];
  css_colours: [string, string];
}

export interface PlanTable {
  rows: string[][];
  align: string;
  swatches: [string, string][] | null;
}

export interface Plan {
  enough: boolean;
  accuracy_percent: number;
  verdict: string[];
  indicators: Indicator[];
  sections: { key: string; heading: string; say: string[]; tables: PlanTable[]; items: string[] }[];
}

export interface Feasibility {
  plan?: Plan;
  problem?: Problem;
}
