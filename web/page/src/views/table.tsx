// The views at the right: a view is a file and a line here.
import type { ComponentType } from "preact";
import { Cycles } from "../panels/cycles";
import { Findings } from "../panels/findings";
import { Make } from "../panels/make";
import { Meetings } from "../panels/meetings";
import type { Scene } from "../paper/holes";
import { PunchByHand } from "../punch/begin";
import { DesignView, paintDesign } from "./design";
import { LightView, paintDifferences, paintLight } from "./light";
import { chooseNotes, MeetThese, paintPicked } from "./meet";
import { paintTake, Take } from "./take";
import { WhatIf } from "./whatif";

export interface View {
  /** Its name: words are tab.NAME. */
  tab: string;
  Inside: ComponentType;
  /** What it marks on the paper. */
  paint?: (s: Scene) => void;
  /** What it lays on the paper below the holes. */
  under?: (s: Scene) => void;
  /** Keys that are its own, when no field has them. */
  keys?: Record<string, () => void>;
}

function MeetingsAll() {
  return (
    <>
      <MeetThese />
      <Meetings />
    </>
  );
}

function MakeAll() {
  return (
    <>
      <Make />
      <PunchByHand />
    </>
  );
}

export const views: View[] = [
  { tab: "findings", Inside: Findings },
  { tab: "cycles", Inside: Cycles },
  { tab: "meetings", Inside: MeetingsAll, paint: paintPicked, keys: { m: chooseNotes } },
  { tab: "make", Inside: MakeAll },
  { tab: "design", Inside: DesignView, paint: paintDesign },
  { tab: "take", Inside: Take, paint: paintTake },
  { tab: "light", Inside: LightView, under: paintLight, paint: paintDifferences },
  { tab: "whatif", Inside: WhatIf },
];
