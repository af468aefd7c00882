// What the scripts of the pages hand one another; read by the checker only.

type Tone = "taken" | "stop" | "neutral";

interface ItemRow { words: string; single: boolean; tool: boolean; usual: number; cold: string; alike: [number, string][] }
interface AssemblyRow {
  name: string; closed: boolean; asks: Record<string, number>; holds: Record<string, number>;
}
type OrderRow = [number, number, string];
interface Shop {
  bins: Record<string, { item: number; spot: string; on_hand: number }>;
  items: Record<string, ItemRow>;
  assemblies: Record<string, AssemblyRow>;
  bits: Record<string, string>;
  people: Record<string, string>;
  owed: Record<string, OrderRow[]>;
  names: Record<string, number>;
}

interface Code { type: string; number: number; text: string }
interface Instead { item: number; words: string; where: string; differs: string }
interface BinFacts {
  number: number; item: number; words: string; held: number; asked: number | null;
  isAskedFor: boolean; instead: Instead | null; isTool: boolean; mind: string; usual: number; cold: string;
  owed: OrderRow[];
}
interface Facts {
  bin?: BinFacts; assemblyName?: string; bitWords?: string; person?: string; supplier?: string; owed?: OrderRow[];
}

interface Pending {
  bin: number; item: number; words: string; quantity: number | null; asked: number | null;
  opened_ms: number; digits: boolean; keyed: boolean; wrong: boolean; instead: number | null;
  instead_words: string; held: number; usual: number; sure: boolean;
  owed: OrderRow[]; order: number | null; order_asked: boolean;
}
interface BenchState {
  assembly: number | null; verb: string; pending: Pending | null; reason: string;
  bit: number | null; person: number | null; order: number | null;
}
interface Commit {
  verb: string; bin: number; quantity: number; reason: string; bit: number; act: number;
  instead: number | null; order: number;
}
interface Said { kind: string; tone: Tone; sentence: string; loud: boolean; data?: Record<string, any> }
interface Outcome extends Said { commit: Commit | null; data: Record<string, any> }
type Step = [BenchState, Outcome];

interface Scan {
  id: string; code: string; ms: number; shown: number | null; owner: number | null;
}
// A kept scan has its place on the disk, its device and its number there.
interface Row extends Scan {
  place?: number; device?: string; seq?: number; loaded?: boolean; refusal?: string;
}
interface Needy { id: string; code: string; ms: number; sentence: string }
interface Kept { device: { id: string; seq: number }; needy: Needy[]; shop: Shop; view: View }

interface Ask {
  item: number; words: string; callout: string; need: number; pulled: number; remaining: number;
  bins: { number: number; spot: string; on_hand: number }[];
}
interface Act {
  id: number; at: string; verb: string; quantity: number; words: string; bin: number | null;
  to: string; reason: string; undone: boolean;
}
interface View {
  owner: number; person: string; state: BenchState; newest: number; last: Act[];
  assembly: { id: number; name: string; stage: string; asks: Ask[] } | null;
}
interface Changed {
  line: Act; undoes: number | null; bins: Record<number, number>; assembly: number | null;
  asks: Record<number, { pulled: number; remaining: number }>; owed: Record<number, OrderRow[]>;
}
interface Answer extends Said {
  renumber?: boolean; newest: number; changed: Changed | null;
  bench: Pick<View, "owner" | "person" | "state">;
}
interface Refusal { code: string; detail: string }
interface Came { answer?: Answer; refusal?: Refusal; failure?: string; signedOut?: boolean }

interface Window {
  BarcodeDetector?: {
    new (wanted: { formats: string[] }): { detect(video: HTMLVideoElement): Promise<{ rawValue: string }[]> };
    getSupportedFormats(): Promise<string[]>;
  };
}
