// What the server answers: made by go test ./web -run TestAnswers -update.
import type * as api from "../src/api";
import type { Rolls, View } from "../src/punch/answers";
import type { Plan } from "../src/work";
import type { Head, Held, Loaded } from "./held";

export const small: Held<Head> = {
 "arrays": [
  {
   "length": 6,
   "name": "slot_lead",
   "offset": 0,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "slot_trail",
   "offset": 48,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "slot_first",
   "offset": 96,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "slot_last",
   "offset": 144,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "slot_port",
   "offset": 192,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "slot_punches",
   "offset": 216,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "slot_voice",
   "offset": 240,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "slot_note",
   "offset": 264,
   "type": "i32"
  },
  {
   "length": 0,
   "name": "more_slot",
   "offset": 288,
   "type": "i32"
  },
  {
   "length": 0,
   "name": "more_voice",
   "offset": 288,
   "type": "i32"
  },
  {
   "length": 0,
   "name": "more_note",
   "offset": 288,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "ev_start",
   "offset": 288,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "ev_end",
   "offset": 336,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "ev_voice",
   "offset": 384,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "ev_note",
   "offset": 408,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "ev_key",
   "offset": 432,
   "type": "u8"
  },
  {
   "length": 6,
   "name": "ev_level",
   "offset": 440,
   "type": "u8"
  },
  {
   "length": 6,
   "name": "ev_piano",
   "offset": 448,
   "type": "u8"
  },
  {
   "length": 8,
   "name": "item_at",
   "offset": 456,
   "type": "f64"
  },
  {
   "length": 8,
   "name": "item_len",
   "offset": 520,
   "type": "f64"
  },
  {
   "length": 8,
   "name": "item_unit",
   "offset": 584,
   "type": "f64"
  },
  {
   "length": 8,
   "name": "item_color",
   "offset": 648,
   "type": "i32"
  },
  {
   "length": 8,
   "name": "item_talea",
   "offset": 680,
   "type": "i32"
  },
  {
   "length": 8,
   "name": "item_note",
   "offset": 712,
   "type": "i32"
  },
  {
   "length": 8,
   "name": "item_color_n",
   "offset": 744,
   "type": "i32"
  },
  {
   "length": 8,
   "name": "item_talea_n",
   "offset": 776,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "re_start",
   "offset": 808,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "re_end",
   "offset": 856,
   "type": "f64"
  },
  {
   "length": 6,
   "name": "re_voice",
   "offset": 904,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "re_note",
   "offset": 928,
   "type": "i32"
  },
  {
   "length": 6,
   "name": "re_key",
   "offset": 952,
   "type": "u8"
  },
  {
   "length": 6,
   "name": "re_level",
   "offset": 960,
   "type": "u8"
  },
  {
   "length": 6,
   "name": "re_piano",
   "offset": 968,
   "type": "u8"
  }
 ],
 "composer": "",
 "durationSec": 2,
 "empty": false,
 "errors": [],
 "findings": [],
 "id": "",
 "note": "",
 "ok": true,
 "outline": [
  {
   "fields": {
    "color": {
     "from": 63,
     "line": 5,
     "show": "C2 G2",
     "text": "\"C2 G2\"",
     "to": 70
    },
    "talea": {
     "from": 41,
     "line": 4,
     "show": "3 2 (1) 2",
     "text": "\"3 2 (1) 2\"",
     "to": 52
    }
   },
   "from": 17,
   "line": 3,
   "name": "low",
   "path": [
    "voice low[1]"
   ],
   "to": 72,
   "type": "voice"
  }
 ],
 "pianos": [
  {
   "bar": {
    "height": 1.143,
    "width": 1.8288
   },
   "bridgeSpacing": 2.2578,
   "bridged": true,
   "delaySec": 0,
   "die": 1.7272,
   "edgeShift": 0,
   "endSec": 2,
   "hammers": "metal",
   "instrument": "88-note",
   "maxOnce": 16,
   "name": "",
   "once": 1,
   "openFirst": 4,
   "paper": {
    "bass": "left",
    "edge": 6,
    "leader": 1200,
    "lengthMM": 1781.28,
    "musicMM": 81.28,
    "trailer": 500,
    "travel": "down",
    "width": 285.75
   },
   "ports": [
    {
     "across": 11.641666666666667,
     "key": -1,
     "pitch": "",
     "role": "sustain"
    },
    {
     "across": 17.28611111111111,
     "key": -1,
     "pitch": "",
     "role": "theme-bass"
    },
    {
     "across": 20.108333333333334,
     "key": 21,
     "pitch": "A0",
     "role": "note"
    },
    {
     "across": 22.930555555555557,
     "key": 22,
     "pitch": "A#0",
     "role": "note"
    },
    {
     "across": 25.752777777777776,
     "key": 23,
     "pitch": "B0",
     "role": "note"
    },
    {
     "across": 28.575,
     "key": 24,
     "pitch": "C1",
     "role": "note"
    },
    {
     "across": 31.397222222222222,
     "key": 25,
     "pitch": "C#1",
     "role": "note"
    },
    {
     "across": 34.21944444444444,
     "key": 26,
     "pitch": "D1",
     "role": "note"
    },
    {
     "across": 37.041666666666664,
     "key": 27,
     "pitch": "D#1",
     "role": "note"
    },
    {
     "across": 39.86388888888889,
     "key": 28,
     "pitch": "E1",
     "role": "note"
    },
    {
     "across": 42.68611111111111,
     "key": 29,
     "pitch": "F1",
     "role": "note"
    },
    {
     "across": 45.50833333333333,
     "key": 30,
     "pitch": "F#1",
     "role": "note"
    },
    {
     "across": 48.330555555555556,
     "key": 31,
     "pitch": "G1",
     "role": "note"
    },
    {
     "across": 51.15277777777778,
     "key": 32,
     "pitch": "G#1",
     "role": "note"
    },
    {
     "across": 53.975,
     "key": 33,
     "pitch": "A1",
     "role": "note"
    },
    {
     "across": 56.797222222222224,
     "key": 34,
     "pitch": "A#1",
     "role": "note"
    },
    {
     "across": 59.61944444444445,
     "key": 35,
     "pitch": "B1",
     "role": "note"
    },
    {
     "across": 62.44166666666667,
     "key": 36,
     "pitch": "C2",
     "role": "note"
    },
    {
     "across": 65.26388888888889,
     "key": 37,
     "pitch": "C#2",
     "role": "note"
    },
    {
     "across": 68.08611111111111,
     "key": 38,
     "pitch": "D2",
     "role": "note"
    },
    {
     "across": 70.90833333333333,
     "key": 39,
     "pitch": "D#2",
     "role": "note"
    },
    {
     "across": 73.73055555555555,
     "key": 40,
     "pitch": "E2",
     "role": "note"
    },
    {
     "across": 76.55277777777778,
     "key": 41,
     "pitch": "F2",
     "role": "note"
    },
    {
     "across": 79.375,
     "key": 42,
     "pitch": "F#2",
     "role": "note"
    },
    {
     "across": 82.19722222222222,
     "key": 43,
     "pitch": "G2",
     "role": "note"
    },
    {
     "across": 85.01944444444445,
     "key": 44,
     "pitch": "G#2",
     "role": "note"
    },
    {
     "across": 87.84166666666667,
     "key": 45,
     "pitch": "A2",
     "role": "note"
    },
    {
     "across": 90.66388888888889,
     "key": 46,
     "pitch": "A#2",
     "role": "note"
    },
    {
     "across": 93.48611111111111,
     "key": 47,
     "pitch": "B2",
     "role": "note"
    },
    {
     "across": 96.30833333333334,
     "key": 48,
     "pitch": "C3",
     "role": "note"
    },
    {
     "across": 99.13055555555556,
     "key": 49,
     "pitch": "C#3",
     "role": "note"
    },
    {
     "across": 101.95277777777778,
     "key": 50,
     "pitch": "D3",
     "role": "note"
    },
    {
     "across": 104.775,
     "key": 51,
     "pitch": "D#3",
     "role": "note"
    },
    {
     "across": 107.59722222222223,
     "key": 52,
     "pitch": "E3",
     "role": "note"
    },
    {
     "across": 110.41944444444445,
     "key": 53,
     "pitch": "F3",
     "role": "note"
    },
    {
     "across": 113.24166666666666,
     "key": 54,
     "pitch": "F#3",
     "role": "note"
    },
    {
     "across": 116.06388888888888,
     "key": 55,
     "pitch": "G3",
     "role": "note"
    },
    {
     "across": 118.8861111111111,
     "key": 56,
     "pitch": "G#3",
     "role": "note"
    },
    {
     "across": 121.70833333333333,
     "key": 57,
     "pitch": "A3",
     "role": "note"
    },
    {
     "across": 124.53055555555555,
     "key": 58,
     "pitch": "A#3",
     "role": "note"
    },
    {
     "across": 127.35277777777777,
     "key": 59,
     "pitch": "B3",
     "role": "note"
    },
    {
     "across": 130.175,
     "key": 60,
     "pitch": "C4",
     "role": "note"
    },
    {
     "across": 132.99722222222223,
     "key": 61,
     "pitch": "C#4",
     "role": "note"
    },
    {
     "across": 135.81944444444446,
     "key": 62,
     "pitch": "D4",
     "role": "note"
    },
    {
     "across": 138.64166666666668,
     "key": 63,
     "pitch": "D#4",
     "role": "note"
    },
    {
     "across": 141.4638888888889,
     "key": 64,
     "pitch": "E4",
     "role": "note"
    },
    {
     "across": 144.2861111111111,
     "key": 65,
     "pitch": "F4",
     "role": "note"
    },
    {
     "across": 147.10833333333332,
     "key": 66,
     "pitch": "F#4",
     "role": "note"
    },
    {
     "across": 149.93055555555554,
     "key": 67,
     "pitch": "G4",
     "role": "note"
    },
    {
     "across": 152.75277777777777,
     "key": 68,
     "pitch": "G#4",
     "role": "note"
    },
    {
     "across": 155.575,
     "key": 69,
     "pitch": "A4",
     "role": "note"
    },
    {
     "across": 158.3972222222222,
     "key": 70,
     "pitch": "A#4",
     "role": "note"
    },
    {
     "across": 161.21944444444443,
     "key": 71,
     "pitch": "B4",
     "role": "note"
    },
    {
     "across": 164.04166666666666,
     "key": 72,
     "pitch": "C5",
     "role": "note"
    },
    {
     "across": 166.86388888888888,
     "key": 73,
     "pitch": "C#5",
     "role": "note"
    },
    {
     "across": 169.6861111111111,
     "key": 74,
     "pitch": "D5",
     "role": "note"
    },
    {
     "across": 172.50833333333333,
     "key": 75,
     "pitch": "D#5",
     "role": "note"
    },
    {
     "across": 175.33055555555555,
     "key": 76,
     "pitch": "E5",
     "role": "note"
    },
    {
     "across": 178.15277777777777,
     "key": 77,
     "pitch": "F5",
     "role": "note"
    },
    {
     "across": 180.975,
     "key": 78,
     "pitch": "F#5",
     "role": "note"
    },
    {
     "across": 183.79722222222222,
     "key": 79,
     "pitch": "G5",
     "role": "note"
    },
    {
     "across": 186.61944444444444,
     "key": 80,
     "pitch": "G#5",
     "role": "note"
    },
    {
     "across": 189.44166666666666,
     "key": 81,
     "pitch": "A5",
     "role": "note"
    },
    {
     "across": 192.26388888888889,
     "key": 82,
     "pitch": "A#5",
     "role": "note"
    },
    {
     "across": 195.0861111111111,
     "key": 83,
     "pitch": "B5",
     "role": "note"
    },
    {
     "across": 197.90833333333333,
     "key": 84,
     "pitch": "C6",
     "role": "note"
    },
    {
     "across": 200.73055555555555,
     "key": 85,
     "pitch": "C#6",
     "role": "note"
    },
    {
     "across": 203.55277777777778,
     "key": 86,
     "pitch": "D6",
     "role": "note"
    },
    {
     "across": 206.375,
     "key": 87,
     "pitch": "D#6",
     "role": "note"
    },
    {
     "across": 209.19722222222222,
     "key": 88,
     "pitch": "E6",
     "role": "note"
    },
    {
     "across": 212.01944444444445,
     "key": 89,
     "pitch": "F6",
     "role": "note"
    },
    {
     "across": 214.84166666666667,
     "key": 90,
     "pitch": "F#6",
     "role": "note"
    },
    {
     "across": 217.6638888888889,
     "key": 91,
     "pitch": "G6",
     "role": "note"
    },
    {
     "across": 220.48611111111111,
     "key": 92,
     "pitch": "G#6",
     "role": "note"
    },
    {
     "across": 223.30833333333334,
     "key": 93,
     "pitch": "A6",
     "role": "note"
    },
    {
     "across": 226.13055555555556,
     "key": 94,
     "pitch": "A#6",
     "role": "note"
    },
    {
     "across": 228.95277777777778,
     "key": 95,
     "pitch": "B6",
     "role": "note"
    },
    {
     "across": 231.775,
     "key": 96,
     "pitch": "C7",
     "role": "note"
    },
    {
     "across": 234.59722222222223,
     "key": 97,
     "pitch": "C#7",
     "role": "note"
    },
    {
     "across": 237.41944444444445,
     "key": 98,
     "pitch": "D7",
     "role": "note"
    },
    {
     "across": 240.24166666666667,
     "key": 99,
     "pitch": "D#7",
     "role": "note"
    },
    {
     "across": 243.0638888888889,
     "key": 100,
     "pitch": "E7",
     "role": "note"
    },
    {
     "across": 245.88611111111112,
     "key": 101,
     "pitch": "F7",
     "role": "note"
    },
    {
     "across": 248.70833333333334,
     "key": 102,
     "pitch": "F#7",
     "role": "note"
    },
    {
     "across": 251.53055555555557,
     "key": 103,
     "pitch": "G7",
     "role": "note"
    },
    {
     "across": 254.3527777777778,
     "key": 104,
     "pitch": "G#7",
     "role": "note"
    },
    {
     "across": 257.175,
     "key": 105,
     "pitch": "A7",
     "role": "note"
    },
    {
     "across": 259.9972222222222,
     "key": 106,
     "pitch": "A#7",
     "role": "note"
    },
    {
     "across": 262.81944444444446,
     "key": 107,
     "pitch": "B7",
     "role": "note"
    },
    {
     "across": 265.64166666666665,
     "key": 108,
     "pitch": "C8",
     "role": "note"
    },
    {
     "across": 268.4638888888889,
     "key": -1,
     "pitch": "",
     "role": "theme-treble"
    },
    {
     "across": 274.10833333333335,
     "key": -1,
     "pitch": "",
     "role": "soft"
    }
   ],
   "rollTempo": 80,
   "singleSec": 0.0425,
   "slotSpacing": 1.1289,
   "slots": {
    "count": 6,
    "from": 0
   },
   "step": 0,
   "strokesPerSec": 12.9,
   "title": "88-note roll, constant speed",
   "transport": {
    "radius": 0,
    "spool": false,
    "thickness": 0,
    "v0": 40.64
   },
   "tuning": ""
  }
 ],
 "shift": null,
 "summary": "nothing found: paper, bar and action can play it as written",
 "title": "Small",
 "top": {
  "title": {
   "from": 8,
   "line": 1,
   "show": "Small",
   "text": "\"Small\"",
   "to": 15
  }
 },
 "voices": [
  {
   "canon": "",
   "color": [
    "C2",
    "G2"
   ],
   "colorLen": 2,
   "colores": 3,
   "complete": {
    "colores": 3,
    "notes": 6,
    "taleae": 2
   },
   "endSec": 2,
   "events": 6,
   "fields": {
    "color": {
     "from": 63,
     "line": 5,
     "show": "C2 G2",
     "text": "\"C2 G2\"",
     "to": 70
    },
    "talea": {
     "from": 41,
     "line": 4,
     "show": "3 2 (1) 2",
     "text": "\"3 2 (1) 2\"",
     "to": 52
    }
   },
   "from": 17,
   "inherited": {},
   "items": {
    "count": 8,
    "from": 0
   },
   "line": 3,
   "name": "low",
   "notes": 6,
   "path": [
    "voice low[1]"
   ],
   "piano": "",
   "secPerUnit": 0.125,
   "section": "",
   "startSec": 0,
   "talea": [
    "3",
    "2",
    "(1)",
    "2"
   ],
   "taleaLen": 4,
   "taleae": 2,
   "to": 72,
   "unit": "1/16",
   "units": 16
  }
 ]
};

export const mistaken: Held<Head> = {
 "arrays": [],
 "composer": "",
 "durationSec": 0,
 "empty": false,
 "errors": [
  {
   "column": 14,
   "from": 27,
   "hint": "write a number: 3, 1/2, 0.75, or (1) for silence",
   "line": 2,
   "problem": "\"x\" is no duration",
   "to": 28,
   "width": 1
  }
 ],
 "findings": [],
 "id": "",
 "note": "",
 "ok": false,
 "outline": [
  {
   "fields": {
    "color": {
     "from": 40,
     "line": 3,
     "show": "C2",
     "text": "\"C2\"",
     "to": 44
    },
    "talea": {
     "from": 24,
     "line": 2,
     "show": "3 x",
     "text": "\"3 x\"",
     "to": 29
    }
   },
   "from": 0,
   "line": 1,
   "name": "low",
   "path": [
    "voice low[1]"
   ],
   "to": 46,
   "type": "voice"
  }
 ],
 "pianos": [],
 "shift": null,
 "summary": "",
 "title": "",
 "top": {},
 "voices": []
};

export const thick: Held<Head> = {
 "arrays": [
  {
   "length": 2,
   "name": "slot_lead",
   "offset": 0,
   "type": "f64"
  },
  {
   "length": 2,
   "name": "slot_trail",
   "offset": 16,
   "type": "f64"
  },
  {
   "length": 2,
   "name": "slot_first",
   "offset": 32,
   "type": "f64"
  },
  {
   "length": 2,
   "name": "slot_last",
   "offset": 48,
   "type": "f64"
  },
  {
   "length": 2,
   "name": "slot_port",
   "offset": 64,
   "type": "i32"
  },
  {
   "length": 2,
   "name": "slot_punches",
   "offset": 72,
   "type": "i32"
  },
  {
   "length": 2,
   "name": "slot_voice",
   "offset": 80,
   "type": "i32"
  },
  {
   "length": 2,
   "name": "slot_note",
   "offset": 88,
   "type": "i32"
  },
  {
   "length": 1,
   "name": "more_slot",
   "offset": 96,
   "type": "i32"
  },
  {
   "length": 1,
   "name": "more_voice",
   "offset": 104,
   "type": "i32"
  },
  {
   "length": 1,
   "name": "more_note",
   "offset": 112,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "ev_start",
   "offset": 120,
   "type": "f64"
  },
  {
   "length": 3,
   "name": "ev_end",
   "offset": 144,
   "type": "f64"
  },
  {
   "length": 3,
   "name": "ev_voice",
   "offset": 168,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "ev_note",
   "offset": 184,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "ev_key",
   "offset": 200,
   "type": "u8"
  },
  {
   "length": 3,
   "name": "ev_level",
   "offset": 208,
   "type": "u8"
  },
  {
   "length": 3,
   "name": "ev_piano",
   "offset": 216,
   "type": "u8"
  },
  {
   "length": 3,
   "name": "item_at",
   "offset": 224,
   "type": "f64"
  },
  {
   "length": 3,
   "name": "item_len",
   "offset": 248,
   "type": "f64"
  },
  {
   "length": 3,
   "name": "item_unit",
   "offset": 272,
   "type": "f64"
  },
  {
   "length": 3,
   "name": "item_color",
   "offset": 296,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "item_talea",
   "offset": 312,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "item_note",
   "offset": 328,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "item_color_n",
   "offset": 344,
   "type": "i32"
  },
  {
   "length": 3,
   "name": "item_talea_n",
   "offset": 360,
   "type": "i32"
  },
  {
   "length": 2,
   "name": "re_start",
   "offset": 376,
   "type": "f64"
  },
  {
   "length": 2,
   "name": "re_end",
   "offset": 392,
   "type": "f64"
  },
  {
   "length": 2,
   "name": "re_voice",
   "offset": 408,
   "type": "i32"
  },
  {
   "length": 2,
   "name": "re_note",
   "offset": 416,
   "type": "i32"
  },
  {
   "length": 2,
   "name": "re_key",
   "offset": 424,
   "type": "u8"
  },
  {
   "length": 2,
   "name": "re_level",
   "offset": 432,
   "type": "u8"
  },
  {
   "length": 2,
   "name": "re_piano",
   "offset": 440,
   "type": "u8"
  }
 ],
 "composer": "",
 "durationSec": 1.5,
 "empty": false,
 "errors": [],
 "findings": [
  {
   "count": 1,
   "fix": true,
   "fromSec": 0,
   "id": "",
   "kind": "two on one key",
   "message": "fast strikes C2 at the same time: one slot sounds both",
   "piano": 0,
   "places": [
    {
     "acrossMM": 62.44166666666667,
     "alongMM": 0,
     "from": 77,
     "line": 7,
     "message": "fast strikes C2 at the same time: one slot sounds both",
     "note": 1,
     "piano": 0,
     "port": 17,
     "sec": 0,
     "to": 92,
     "voice": 1
    }
   ],
   "remedy": "another pitch for one of the two, if both are to be heard",
   "severity": "note",
   "title": "two on one key",
   "toSec": 0,
   "voice": 1
  }
 ],
 "id": "",
 "note": "",
 "ok": true,
 "outline": [
  {
   "fields": {
    "color": {
     "from": 39,
     "line": 3,
     "show": "C2",
     "text": "\"C2\"",
     "to": 43
    },
    "talea": {
     "from": 25,
     "line": 2,
     "show": "3",
     "text": "\"3\"",
     "to": 28
    }
   },
   "from": 0,
   "line": 1,
   "name": "fast",
   "path": [
    "voice fast[1]"
   ],
   "to": 45,
   "type": "voice"
  },
  {
   "fields": {
    "color": {
     "from": 85,
     "line": 7,
     "show": "C2 G2",
     "text": "\"C2 G2\"",
     "to": 92
    },
    "speed": {
     "from": 103,
     "line": 8,
     "show": "2/3",
     "text": "2/3",
     "to": 106
    },
    "talea": {
     "from": 71,
     "line": 6,
     "show": "4",
     "text": "\"4\"",
     "to": 74
    }
   },
   "from": 46,
   "line": 5,
   "name": "slow",
   "path": [
    "voice slow[1]"
   ],
   "to": 108,
   "type": "voice"
  }
 ],
 "pianos": [
  {
   "bar": {
    "height": 1.143,
    "width": 1.8288
   },
   "bridgeSpacing": 2.2578,
   "bridged": true,
   "delaySec": 0,
   "die": 1.7272,
   "edgeShift": 0,
   "endSec": 1.5,
   "hammers": "metal",
   "instrument": "88-note",
   "maxOnce": 16,
   "name": "",
   "once": 1,
   "openFirst": 4,
   "paper": {
    "bass": "left",
    "edge": 6,
    "leader": 1200,
    "lengthMM": 1760.96,
    "musicMM": 60.96,
    "trailer": 500,
    "travel": "down",
    "width": 285.75
   },
   "ports": [
    {
     "across": 11.641666666666667,
     "key": -1,
     "pitch": "",
     "role": "sustain"
    },
    {
     "across": 17.28611111111111,
     "key": -1,
     "pitch": "",
     "role": "theme-bass"
    },
    {
     "across": 20.108333333333334,
     "key": 21,
     "pitch": "A0",
     "role": "note"
    },
    {
     "across": 22.930555555555557,
     "key": 22,
     "pitch": "A#0",
     "role": "note"
    },
    {
     "across": 25.752777777777776,
     "key": 23,
     "pitch": "B0",
     "role": "note"
    },
    {
     "across": 28.575,
     "key": 24,
     "pitch": "C1",
     "role": "note"
    },
    {
     "across": 31.397222222222222,
     "key": 25,
     "pitch": "C#1",
     "role": "note"
    },
    {
     "across": 34.21944444444444,
     "key": 26,
     "pitch": "D1",
     "role": "note"
    },
    {
     "across": 37.041666666666664,
     "key": 27,
     "pitch": "D#1",
     "role": "note"
    },
    {
     "across": 39.86388888888889,
     "key": 28,
     "pitch": "E1",
     "role": "note"
    },
    {
     "across": 42.68611111111111,
     "key": 29,
     "pitch": "F1",
     "role": "note"
    },
    {
     "across": 45.50833333333333,
     "key": 30,
     "pitch": "F#1",
     "role": "note"
    },
    {
     "across": 48.330555555555556,
     "key": 31,
     "pitch": "G1",
     "role": "note"
    },
    {
     "across": 51.15277777777778,
     "key": 32,
     "pitch": "G#1",
     "role": "note"
    },
    {
     "across": 53.975,
     "key": 33,
     "pitch": "A1",
     "role": "note"
    },
    {
     "across": 56.797222222222224,
     "key": 34,
     "pitch": "A#1",
     "role": "note"
    },
    {
     "across": 59.61944444444445,
     "key": 35,
     "pitch": "B1",
     "role": "note"
    },
    {
     "across": 62.44166666666667,
     "key": 36,
     "pitch": "C2",
     "role": "note"
    },
    {
     "across": 65.26388888888889,
     "key": 37,
     "pitch": "C#2",
     "role": "note"
    },
    {
     "across": 68.08611111111111,
     "key": 38,
     "pitch": "D2",
     "role": "note"
    },
    {
     "across": 70.90833333333333,
     "key": 39,
     "pitch": "D#2",
     "role": "note"
    },
    {
     "across": 73.73055555555555,
     "key": 40,
     "pitch": "E2",
     "role": "note"
    },
    {
     "across": 76.55277777777778,
     "key": 41,
     "pitch": "F2",
     "role": "note"
    },
    {
     "across": 79.375,
     "key": 42,
     "pitch": "F#2",
     "role": "note"
    },
    {
     "across": 82.19722222222222,
     "key": 43,
     "pitch": "G2",
     "role": "note"
    },
    {
     "across": 85.01944444444445,
     "key": 44,
     "pitch": "G#2",
     "role": "note"
    },
    {
     "across": 87.84166666666667,
     "key": 45,
     "pitch": "A2",
     "role": "note"
    },
    {
     "across": 90.66388888888889,
     "key": 46,
     "pitch": "A#2",
     "role": "note"
    },
    {
     "across": 93.48611111111111,
     "key": 47,
     "pitch": "B2",
     "role": "note"
    },
    {
     "across": 96.30833333333334,
     "key": 48,
     "pitch": "C3",
     "role": "note"
    },
    {
     "across": 99.13055555555556,
     "key": 49,
     "pitch": "C#3",
     "role": "note"
    },
    {
     "across": 101.95277777777778,
     "key": 50,
     "pitch": "D3",
     "role": "note"
    },
    {
     "across": 104.775,
     "key": 51,
     "pitch": "D#3",
     "role": "note"
    },
    {
     "across": 107.59722222222223,
     "key": 52,
     "pitch": "E3",
     "role": "note"
    },
    {
     "across": 110.41944444444445,
     "key": 53,
     "pitch": "F3",
     "role": "note"
    },
    {
     "across": 113.24166666666666,
     "key": 54,
     "pitch": "F#3",
     "role": "note"
    },
    {
     "across": 116.06388888888888,
     "key": 55,
     "pitch": "G3",
     "role": "note"
    },
    {
     "across": 118.8861111111111,
     "key": 56,
     "pitch": "G#3",
     "role": "note"
    },
    {
     "across": 121.70833333333333,
     "key": 57,
     "pitch": "A3",
     "role": "note"
    },
    {
     "across": 124.53055555555555,
     "key": 58,
     "pitch": "A#3",
     "role": "note"
    },
    {
     "across": 127.35277777777777,
     "key": 59,
     "pitch": "B3",
     "role": "note"
    },
    {
     "across": 130.175,
     "key": 60,
     "pitch": "C4",
     "role": "note"
    },
    {
     "across": 132.99722222222223,
     "key": 61,
     "pitch": "C#4",
     "role": "note"
    },
    {
     "across": 135.81944444444446,
     "key": 62,
     "pitch": "D4",
     "role": "note"
    },
    {
     "across": 138.64166666666668,
     "key": 63,
     "pitch": "D#4",
     "role": "note"
    },
    {
     "across": 141.4638888888889,
     "key": 64,
     "pitch": "E4",
     "role": "note"
    },
    {
     "across": 144.2861111111111,
     "key": 65,
     "pitch": "F4",
     "role": "note"
    },
    {
     "across": 147.10833333333332,
     "key": 66,
     "pitch": "F#4",
     "role": "note"
    },
    {
     "across": 149.93055555555554,
     "key": 67,
     "pitch": "G4",
     "role": "note"
    },
    {
     "across": 152.75277777777777,
     "key": 68,
     "pitch": "G#4",
     "role": "note"
    },
    {
     "across": 155.575,
     "key": 69,
     "pitch": "A4",
     "role": "note"
    },
    {
     "across": 158.3972222222222,
     "key": 70,
     "pitch": "A#4",
     "role": "note"
    },
    {
     "across": 161.21944444444443,
     "key": 71,
     "pitch": "B4",
     "role": "note"
    },
    {
     "across": 164.04166666666666,
     "key": 72,
     "pitch": "C5",
     "role": "note"
    },
    {
     "across": 166.86388888888888,
     "key": 73,
     "pitch": "C#5",
     "role": "note"
    },
    {
     "across": 169.6861111111111,
     "key": 74,
     "pitch": "D5",
     "role": "note"
    },
    {
     "across": 172.50833333333333,
     "key": 75,
     "pitch": "D#5",
     "role": "note"
    },
    {
     "across": 175.33055555555555,
     "key": 76,
     "pitch": "E5",
     "role": "note"
    },
    {
     "across": 178.15277777777777,
     "key": 77,
     "pitch": "F5",
     "role": "note"
    },
    {
     "across": 180.975,
     "key": 78,
     "pitch": "F#5",
     "role": "note"
    },
    {
     "across": 183.79722222222222,
     "key": 79,
     "pitch": "G5",
     "role": "note"
    },
    {
     "across": 186.61944444444444,
     "key": 80,
     "pitch": "G#5",
     "role": "note"
    },
    {
     "across": 189.44166666666666,
     "key": 81,
     "pitch": "A5",
     "role": "note"
    },
    {
     "across": 192.26388888888889,
     "key": 82,
     "pitch": "A#5",
     "role": "note"
    },
    {
     "across": 195.0861111111111,
     "key": 83,
     "pitch": "B5",
     "role": "note"
    },
    {
     "across": 197.90833333333333,
     "key": 84,
     "pitch": "C6",
     "role": "note"
    },
    {
     "across": 200.73055555555555,
     "key": 85,
     "pitch": "C#6",
     "role": "note"
    },
    {
     "across": 203.55277777777778,
     "key": 86,
     "pitch": "D6",
     "role": "note"
    },
    {
     "across": 206.375,
     "key": 87,
     "pitch": "D#6",
     "role": "note"
    },
    {
     "across": 209.19722222222222,
     "key": 88,
     "pitch": "E6",
     "role": "note"
    },
    {
     "across": 212.01944444444445,
     "key": 89,
     "pitch": "F6",
     "role": "note"
    },
    {
     "across": 214.84166666666667,
     "key": 90,
     "pitch": "F#6",
     "role": "note"
    },
    {
     "across": 217.6638888888889,
     "key": 91,
     "pitch": "G6",
     "role": "note"
    },
    {
     "across": 220.48611111111111,
     "key": 92,
     "pitch": "G#6",
     "role": "note"
    },
    {
     "across": 223.30833333333334,
     "key": 93,
     "pitch": "A6",
     "role": "note"
    },
    {
     "across": 226.13055555555556,
     "key": 94,
     "pitch": "A#6",
     "role": "note"
    },
    {
     "across": 228.95277777777778,
     "key": 95,
     "pitch": "B6",
     "role": "note"
    },
    {
     "across": 231.775,
     "key": 96,
     "pitch": "C7",
     "role": "note"
    },
    {
     "across": 234.59722222222223,
     "key": 97,
     "pitch": "C#7",
     "role": "note"
    },
    {
     "across": 237.41944444444445,
     "key": 98,
     "pitch": "D7",
     "role": "note"
    },
    {
     "across": 240.24166666666667,
     "key": 99,
     "pitch": "D#7",
     "role": "note"
    },
    {
     "across": 243.0638888888889,
     "key": 100,
     "pitch": "E7",
     "role": "note"
    },
    {
     "across": 245.88611111111112,
     "key": 101,
     "pitch": "F7",
     "role": "note"
    },
    {
     "across": 248.70833333333334,
     "key": 102,
     "pitch": "F#7",
     "role": "note"
    },
    {
     "across": 251.53055555555557,
     "key": 103,
     "pitch": "G7",
     "role": "note"
    },
    {
     "across": 254.3527777777778,
     "key": 104,
     "pitch": "G#7",
     "role": "note"
    },
    {
     "across": 257.175,
     "key": 105,
     "pitch": "A7",
     "role": "note"
    },
    {
     "across": 259.9972222222222,
     "key": 106,
     "pitch": "A#7",
     "role": "note"
    },
    {
     "across": 262.81944444444446,
     "key": 107,
     "pitch": "B7",
     "role": "note"
    },
    {
     "across": 265.64166666666665,
     "key": 108,
     "pitch": "C8",
     "role": "note"
    },
    {
     "across": 268.4638888888889,
     "key": -1,
     "pitch": "",
     "role": "theme-treble"
    },
    {
     "across": 274.10833333333335,
     "key": -1,
     "pitch": "",
     "role": "soft"
    }
   ],
   "rollTempo": 80,
   "singleSec": 0.0425,
   "slotSpacing": 1.1289,
   "slots": {
    "count": 2,
    "from": 0
   },
   "step": 0,
   "strokesPerSec": 12.9,
   "title": "88-note roll, constant speed",
   "transport": {
    "radius": 0,
    "spool": false,
    "thickness": 0,
    "v0": 40.64
   },
   "tuning": ""
  }
 ],
 "shift": null,
 "summary": "findings: 1 good to know",
 "title": "thick",
 "top": {},
 "voices": [
  {
   "canon": "",
   "color": [
    "C2"
   ],
   "colorLen": 1,
   "colores": 1,
   "complete": {
    "colores": 1,
    "notes": 1,
    "taleae": 1
   },
   "endSec": 0.375,
   "events": 1,
   "fields": {
    "color": {
     "from": 39,
     "line": 3,
     "show": "C2",
     "text": "\"C2\"",
     "to": 43
    },
    "talea": {
     "from": 25,
     "line": 2,
     "show": "3",
     "text": "\"3\"",
     "to": 28
    }
   },
   "from": 0,
   "inherited": {},
   "items": {
    "count": 1,
    "from": 0
   },
   "line": 1,
   "name": "fast",
   "notes": 1,
   "path": [
    "voice fast[1]"
   ],
   "piano": "",
   "secPerUnit": 0.125,
   "section": "",
   "startSec": 0,
   "talea": [
    "3"
   ],
   "taleaLen": 1,
   "taleae": 1,
   "to": 45,
   "unit": "1/16",
   "units": 3
  },
  {
   "canon": "",
   "color": [
    "C2",
    "G2"
   ],
   "colorLen": 2,
   "colores": 1,
   "complete": {
    "colores": 1,
    "notes": 2,
    "taleae": 2
   },
   "endSec": 1.5,
   "events": 2,
   "fields": {
    "color": {
     "from": 85,
     "line": 7,
     "show": "C2 G2",
     "text": "\"C2 G2\"",
     "to": 92
    },
    "speed": {
     "from": 103,
     "line": 8,
     "show": "2/3",
     "text": "2/3",
     "to": 106
    },
    "talea": {
     "from": 71,
     "line": 6,
     "show": "4",
     "text": "\"4\"",
     "to": 74
    }
   },
   "from": 46,
   "inherited": {},
   "items": {
    "count": 2,
    "from": 1
   },
   "line": 5,
   "name": "slow",
   "notes": 2,
   "path": [
    "voice slow[1]"
   ],
   "piano": "",
   "secPerUnit": 0.1875,
   "section": "",
   "startSec": 0,
   "talea": [
    "4"
   ],
   "taleaLen": 1,
   "taleae": 2,
   "to": 108,
   "unit": "1/16",
   "units": 8
  }
 ]
};

export const plan: Held<Plan> = {
 "canons": [],
 "density": {
  "binSec": 0.5,
  "counts": [
   2,
   1,
   0
  ],
  "mean": 2,
  "peak": 4
 },
 "notCompared": "",
 "pairs": [
  {
   "a": "fast",
   "b": "slow",
   "canon": "",
   "commensurable": "yes",
   "count": 1,
   "decimal": 0.6666666666666666,
   "meets": [
    {
     "noteA": 1,
     "noteB": 1,
     "sec": 0
    }
   ],
   "near": [],
   "next": "both taleae going on",
   "proof": "exact",
   "ratio": "2/3",
   "reason": "2/3 is rational: 2 units of slow last as long as 3 of fast, 375 ms"
  }
 ],
 "tempo": [
  {
   "points": [
    [
     0,
     120
    ],
    [
     0.375,
     120
    ]
   ],
   "voice": 0
  },
  {
   "points": [
    [
     0,
     80
    ],
    [
     1.5,
     80
    ]
   ],
   "voice": 1
  }
 ]
};

export const session: Held<api.Session> = {
 "first": true,
 "folder": "",
 "lang": [
  "en"
 ],
 "open": "small.piece",
 "soundVersion": "",
 "version": ""
};

export const files: Held<{ files: api.FileEntry[] }> = {
 "files": [
  {
   "bytes": 73,
   "errors": 0,
   "name": "small.piece",
   "title": "Small"
  },
  {
   "bytes": 109,
   "errors": 0,
   "name": "thick.piece",
   "title": ""
  },
  {
   "bytes": 57,
   "errors": 0,
   "name": "two.piece",
   "title": ""
  }
 ],
 "folder": "",
 "open": "small.piece"
};

export const examples: Held<api.Example[]> = [
 {
  "idea": "one voice: seven pitches on six durations, and a lecture about it",
  "name": "single-end",
  "title": "Single End"
 },
 {
  "idea": "pitches on durations that are not equally many, in three voices",
  "name": "first-thread",
  "title": "First Thread"
 },
 {
  "idea": "strokes as even as can be, four kinds on one pulse",
  "name": "even-picks",
  "title": "Even Picks"
 },
 {
  "idea": "chords and silences: what sounds in one voice is silent in the other",
  "name": "heddles",
  "title": "Heddles"
 },
 {
  "idea": "how long a note sounds, and what the pedal keeps",
  "name": "dry-and-held",
  "title": "Dry and Held"
 },
 {
  "idea": "a line, its mirror image, and both backwards",
  "name": "herringbone",
  "title": "Herringbone"
 },
 {
  "idea": "stairs: each statement higher, louder, longer or shorter",
  "name": "twill",
  "title": "Twill"
 },
 {
  "idea": "one line against itself at an irrational speed",
  "name": "two-shuttles",
  "title": "Two Shuttles"
 },
 {
  "idea": "a canon as a proportion, with a meeting point",
  "name": "four-looms",
  "title": "Four Looms"
 },
 {
  "idea": "a canon of voices that all get faster and end as one",
  "name": "running-up",
  "title": "The Shaft Runs Up"
 },
 {
  "idea": "every note a little longer than the one before",
  "name": "unwinding",
  "title": "Unwinding"
 },
 {
  "idea": "gestures: runs, shakes, strokes again and again, rolled chords",
  "name": "bobbins",
  "title": "Bobbins"
 },
 {
  "idea": "sections, and work heard backwards at half speed",
  "name": "two-shifts",
  "title": "Two Shifts"
 },
 {
  "idea": "two pianos, ten voices, thousands of notes",
  "name": "two-sheds",
  "title": "Two Sheds"
 }
];

export const formats: Held<api.Format[]> = [
 {
  "about": "the roll 1:1, to print, join and punch through",
  "format": "pdf",
  "perRoll": true
 },
 {
  "about": "drawings of the beds of a machine, hues as it wants them",
  "format": "pdf",
  "machines": [
   {
    "name": "laser",
    "title": "laser, flat bed 600 x 400 mm"
   },
   {
    "name": "punch-table",
    "title": "punching head on a table 900 x 400 mm"
   },
   {
    "name": "punch-feed",
    "title": "punching head, paper fed by a roller"
   },
   {
    "name": "knife",
    "title": "plotter with a dragged knife, flat bed 600 x 400 mm"
   }
  ],
  "perRoll": true
 },
 {
  "about": "the roll 1:1 as one drawing",
  "format": "svg",
  "perRoll": true
 },
 {
  "about": "drawings of the beds of a machine, hues as it wants them",
  "format": "svg",
  "machines": [
   {
    "name": "laser",
    "title": "laser, flat bed 600 x 400 mm"
   },
   {
    "name": "punch-table",
    "title": "punching head on a table 900 x 400 mm"
   },
   {
    "name": "punch-feed",
    "title": "punching head, paper fed by a roller"
   },
   {
    "name": "knife",
    "title": "plotter with a dragged knife, flat bed 600 x 400 mm"
   }
  ],
  "perRoll": true
 },
 {
  "about": "the roll for cutters and plotters, in millimetres",
  "format": "dxf",
  "perRoll": true
 },
 {
  "about": "drawings of the beds of a machine, hues as it wants them",
  "format": "dxf",
  "machines": [
   {
    "name": "laser",
    "title": "laser, flat bed 600 x 400 mm"
   },
   {
    "name": "punch-table",
    "title": "punching head on a table 900 x 400 mm"
   },
   {
    "name": "punch-feed",
    "title": "punching head, paper fed by a roller"
   },
   {
    "name": "knife",
    "title": "plotter with a dragged knife, flat bed 600 x 400 mm"
   }
  ],
  "perRoll": true
 },
 {
  "about": "a picture of the paper",
  "format": "png",
  "perRoll": true
 },
 {
  "about": "programs for a laser, a punching head or a knife, a bed each",
  "format": "nc",
  "machines": [
   {
    "name": "laser",
    "title": "laser, flat bed 600 x 400 mm"
   },
   {
    "name": "punch-table",
    "title": "punching head on a table 900 x 400 mm"
   },
   {
    "name": "punch-feed",
    "title": "punching head, paper fed by a roller"
   }
  ],
  "perRoll": true
 },
 {
  "about": "programs for a laser, a punching head or a knife, a bed each",
  "format": "plt",
  "machines": [
   {
    "name": "knife",
    "title": "plotter with a dragged knife, flat bed 600 x 400 mm"
   }
  ],
  "perRoll": true
 },
 {
  "about": "every slot with its place in millimetres",
  "format": "csv",
  "perRoll": false
 },
 {
  "about": "the notes for any MIDI program",
  "format": "mid",
  "perRoll": false
 },
 {
  "about": "the notes in notation, for any engraving program",
  "format": "musicxml",
  "perRoll": false
 },
 {
  "about": "the sound of the piece",
  "format": "flac",
  "perRoll": false
 },
 {
  "about": "the sound of the piece",
  "format": "wav",
  "perRoll": false
 },
 {
  "about": "the piece explained step by step, to see and to hear",
  "format": "html",
  "perRoll": false
 },
 {
  "about": "the paper moving over its bar, with sound; .tar: its pictures and its sound, for other programs",
  "format": "mp4",
  "perRoll": false
 },
 {
  "about": "the paper moving over its bar, with sound; .tar: its pictures and its sound, for other programs",
  "format": "webm",
  "perRoll": false
 },
 {
  "about": "the paper moving over its bar, with sound; .tar: its pictures and its sound, for other programs",
  "format": "tar",
  "perRoll": false
 },
 {
  "about": "the words of the talk for a film, each at its place",
  "format": "vtt",
  "perRoll": false
 },
 {
  "about": "everything about the piece, in one archive",
  "format": "zip",
  "perRoll": false
 }
];

export const file: Held<Loaded> = {
 "name": "small.piece",
 "text": "title = \"Small\"\n\nvoice \"low\" {\n  talea = \"3 2 (1) 2\"\n  color = \"C2 G2\"\n}\n",
 "version": ""
};

export const offer: Held<api.Offer> = {
 "benches": [
  {
   "name": "crank-2mm",
   "title": "crank of 2 mm a turn, dial of 20 parts"
  },
  {
   "name": "crank-eighth",
   "title": "crank of 1/8 inch a turn, dial of 32 parts, lengths in 64ths of an inch"
  },
  {
   "name": "ratchet-45",
   "title": "ratchet of 45 clicks to the inch, lengths in decimal inches"
  }
 ],
 "figures": [
  {
   "about": "which pitch falls on which duration, with counts",
   "kind": "grid"
  },
  {
   "about": "color and talea as two toothed wheels, with their counts",
   "kind": "wheels"
  },
  {
   "about": "the talea round a circle: its strokes on its pulses",
   "kind": "ring"
  },
  {
   "about": "the strip of pitches sliding along the strip of durations",
   "kind": "strips"
  },
  {
   "about": "all voices over time: statements, notes, meetings and near misses",
   "kind": "lines"
  },
  {
   "about": "the voices of a canon, units against time, meeting at their point",
   "kind": "meeting"
  },
  {
   "about": "how far the voices of a canon are apart, over time",
   "kind": "lag"
  },
  {
   "about": "the tempo of each voice over time",
   "kind": "tempo"
  },
  {
   "about": "how voices rise and fall: pitches over time",
   "kind": "contour"
  },
  {
   "about": "a stretch of the roll with its notes named",
   "kind": "paper"
  },
  {
   "about": "color, talea and first statements of a voice in notation",
   "kind": "notation"
  },
  {
   "about": "histogram of the intervals between onsets",
   "kind": "gaps"
  }
 ]
};

export const hunks: Held<{ hunks: api.Hunk[] }> = {
 "hunks": [
  {
   "kind": "same",
   "lines": [
    "title = \"Small\"",
    "",
    "voice \"low\" {",
    "  talea = \"3 2 (1) 2\"",
    "  color = \"C2 G2\"",
    "}"
   ]
  },
  {
   "kind": "add",
   "lines": [
    "end"
   ]
  }
 ]
};

export const splice: Held<api.Splice> = {
 "from": 45,
 "insert": "",
 "text": "title = \"Small\"\n\nvoice \"low\" {\n  talea = \"3 2\"\n  color = \"C2 G2\"\n}\n",
 "to": 51
};

export const rolls: Held<Rolls> = {
 "benches": [
  {
   "name": "crank-2mm",
   "title": "crank of 2 mm a turn, dial of 20 parts"
  },
  {
   "name": "crank-eighth",
   "title": "crank of 1/8 inch a turn, dial of 32 parts, lengths in 64ths of an inch"
  },
  {
   "name": "ratchet-45",
   "title": "ratchet of 45 clicks to the inch, lengths in decimal inches"
  }
 ],
 "mind": [],
 "rolls": [
  {
   "begun": false,
   "bench": "",
   "fromSec": 0,
   "journal": "two.piece.journal",
   "ofPunches": 26,
   "piano": "",
   "punches": 0,
   "spool": 1,
   "spools": 1,
   "title": "two",
   "toSec": 0.75
  }
 ]
};

export const row: Held<View> = {
 "across": [
  0.21851851851851853,
  0.2876543209876543
 ],
 "add": 0,
 "again": false,
 "assumed": true,
 "bass": "left",
 "bench": "crank of 2 mm a turn, dial of 20 parts",
 "clicks": false,
 "cut": 0,
 "damaged": 0,
 "done": false,
 "done_at": "",
 "finished": false,
 "id": "",
 "journal": "two.piece.journal",
 "left": "4 min",
 "left_s": 198,
 "leftward": false,
 "lines": null,
 "looking": false,
 "measure": "",
 "mind": "",
 "moves": [
  {
   "back": false,
   "say": "9 parts",
   "text": "0 + 09",
   "to": "0 + 09"
  }
 ],
 "nothing": false,
 "of_punches": 26,
 "outdated": false,
 "patch": null,
 "patches": 0,
 "paused": false,
 "piano": "",
 "place": "0.90 mm",
 "punches": 0,
 "reading": "0 + 09",
 "row": 1,
 "row_s": 4,
 "rows": 17,
 "said": "",
 "say": "Forward 9 parts, left to right: 18, 25.",
 "sessions": 1,
 "spool": 1,
 "spools": 1,
 "stroke_s": 5,
 "strokes": [
  {
   "done": false,
   "n": 1,
   "name": "C2",
   "number": 18,
   "of": 9,
   "port": 18
  },
  {
   "done": false,
   "n": 1,
   "name": "G2",
   "number": 25,
   "of": 9,
   "port": 25
  }
 ],
 "title": "two",
 "waits": "",
 "webMM": 0
};
