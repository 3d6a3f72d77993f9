// biome-ignore-all format: generated
// Generated from the OpenAPI document by `npm run docs`; a test fails when it is out of date. Not edited by hand.

import type { Send } from './send.ts';

export type PostSessionBody = {
  passphrase: string;
};

export type GetNowAnswer = {
  time: number;
  /** one true sentence when there is nothing to do */
  calm?: string;
  deeds: ({
    /** the same while the same thing is to be done */
    id: string;
    /** id of the system; empty for the whole room */
    tank: string;
    urgency: "now" | "today" | "soon";
    what: string;
    /** why, how much, or what comes next */
    more?: string;
    /** a timer that runs, UTC milliseconds */
    clock?: {
      startedMs: number;
      endsMs: number;
      /** when it calls louder */
      maximumMs?: number;
    };
    /** of the button */
    words: string;
    /** the one deed that settles it, with the ids that it is about */
    act: {
      do: string;
    };
  })[];
};

export type PostTestsBody = {
  /** id of the system */
  system: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
  /** id of the entry that this one replaces: it stays in the journal and no longer counts */
  corrects?: number;
  analyte: "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "salinity" | "ph" | "temperature";
  value: number;
  /** the unit of the value, empty for a pure number; the store unit of the analyte when absent */
  unit?: string;
  /** for unit sg: the two temperatures on the scale of the instrument; 25/25 when absent */
  sg_scale?: "20/20" | "25/25" | "60F/60F";
  /** for unit sg: of the water in which a glass hydrometer floated; absent for an instrument that corrects for it */
  water_temperature_c?: number;
  /** standard uncertainty of the test, in the same unit */
  sd?: number;
  /** true: the value was questioned and is meant as given */
  confirmed?: boolean;
};

export type PostTestsAnswer = {
  id: number;
  analyte: string;
  value: number;
  /** what was saved in words, with its unit */
  saved: string;
};

export type PostDosesBody = {
  /** id of the system */
  system: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
  /** id of the entry that this one replaces: it stays in the journal and no longer counts */
  corrects?: number;
  /** id of a stock of the system, with ml */
  stock?: string;
  ml?: number;
  /** a substance, with grams */
  substance?: string;
  grams?: number;
  /** true: it was questioned and is meant as given */
  confirmed?: boolean;
};

export type PostDosesAnswer = {
  id: number;
  /** what was saved in words, with its unit */
  saved: string;
};

export type PostWaterChangesBody = {
  /** id of the system */
  system: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
  /** id of the entry that this one replaces: it stays in the journal and no longer counts */
  corrects?: number;
  volume_l: number;
  alkalinity_dkh?: number;
  calcium_mg_l?: number;
  magnesium_mg_l?: number;
  salinity?: number;
  /** true: it was questioned and is meant as given */
  confirmed?: boolean;
};

export type PostWaterChangesAnswer = PostDosesAnswer;

export type PostEntriesByIdWithdrawBody = {
  by?: string;
};

export type PostEntriesByIdWithdrawAnswer = {
  id: number;
};

export type PostAdviceDeclineBody = {
  /** id of the system */
  system: string;
  analyte: "alkalinity" | "calcium" | "magnesium" | "salinity";
  by?: string;
  /** the same key again is the same entry */
  key?: string;
  reason: "test_first" | "too_much" | "other_means" | "later" | "cause_known" | "other";
  note?: string;
};

export type PostAdviceResumeBody = {
  /** id of the system */
  system: string;
  analyte: "alkalinity" | "calcium" | "magnesium" | "salinity";
  by?: string;
  /** the same key again is the same entry */
  key?: string;
};

export type PostPlanBody = {
  /** id of the system */
  system: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
  /** id of the entry that this one replaces: it stays in the journal and no longer counts */
  corrects?: number;
  /** id of a stock of the system */
  stock: string;
  /** 0 ends it */
  ml_per_day: number;
  times_per_day?: number;
  /** back to what the configuration says, whatever ml_per_day is */
  configured?: true;
};

export type PostPlanAnswer = PostDosesAnswer;

export type PostRefillsBody = {
  /** id of the system */
  system: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
  /** id of the entry that this one replaces: it stays in the journal and no longer counts */
  corrects?: number;
  /** id of a stock of the system */
  stock: string;
  /** how full it is now; its full size when absent */
  ml?: number;
};

export type PostRefillsAnswer = PostDosesAnswer;

export type PostAlarmsAcknowledgeBody = {
  alarm: string;
  by?: string;
};

export type PostAlarmsShelveBody = {
  alarm: string;
  minutes: number;
  by?: string;
  why?: string;
};

export type PostAlarmsUnshelveBody = PostAlarmsAcknowledgeBody;

export type PostMaintenanceBody = {
  system: string;
  probe?: string;
  minutes: number;
  by?: string;
  why?: string;
};

export type PostMaintenanceEndBody = {
  system: string;
  probe?: string;
  by?: string;
};

export type PostCalibrationsBody = {
  kind: "linear";
  /** id of the probe */
  probe: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  /** who */
  by: string;
  /** why: a routine, a doubt, a new electrode */
  why: string;
  /** the same key again is the same calibration */
  key?: string;
  /** reading = slope × what the probe sends + offset */
  slope: number;
  /** in the metric's store unit */
  offset: number;
} | ({
  kind: "cell";
  /** id of the probe */
  probe: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  /** who */
  by: string;
  /** why: a routine, a doubt, a new electrode */
  why: string;
  /** the same key again is the same calibration */
  key?: string;
  standard: ({
    kcl: "kcl_0.01_molal" | "kcl_0.1_molal" | "kcl_1_molal" | "kcl_0.001_demal" | "kcl_0.01_demal" | "kcl_0.1_demal" | "kcl_1_demal" | "kcl_84uS" | "kcl_1413uS" | "kcl_12.88mS";
  }) | {
    /** practical salinity, 35 for standard seawater */
    seawater_salinity: number;
    /** standard uncertainty of that salinity */
    salinity_sd?: number;
  };
  /** what the probe sends in the standard, before any correction of the hub */
  shown_mS_cm: number;
  /** of the standard, not of the aquarium */
  standard_temperature_C: number;
  temperature_sd_C?: number;
}) | ({
  kind: "ph";
  /** id of the probe */
  probe: string;
  /** ISO 8601 with offset; now when absent */
  time?: string;
  /** who */
  by: string;
  /** why: a routine, a doubt, a new electrode */
  why: string;
  /** the same key again is the same calibration */
  key?: string;
  buffers: ({
    /** a primary buffer */
    buffer?: "phthalate_iupac" | "phosphate_equimolal" | "borax" | "carbonate" | "phthalate_hetzer1977";
    /** or the pH that stands on the bottle for this temperature */
    ph?: number;
    /** of the electrode in it */
    potential_mV?: number;
    /** or what the probe sends in it, before any correction of the hub */
    shown_ph?: number;
    /** of the buffer itself */
    temperature_C: number;
  })[];
  buffer_ph_sd?: number;
  potential_sd_mV?: number;
});

export type PostCalibrationsAnswer = ({
  /** null for a dry run: nothing was kept */
  id: number | null;
  probe: string;
  kind: "linear" | "cell" | "ph";
  time: string;
  verdict: {
    state: "good" | "unproven" | "clean_and_recalibrate" | "replace" | "not_judged";
    reasons: string[];
    slope_percent?: number;
    offset_mV?: number;
    worst_residual_ph?: number;
    standard_uncertainty_ph?: number;
    cell_factor?: number;
    standard_mS_cm?: number;
    error_percent?: number;
    standard_uncertainty_percent?: number;
  };
  correction: {
    electrode?: {
      signal: "ph" | "mV";
      offset_mV: number;
      slopeShare: number;
      meterTemperature_C: number;
    };
    slope: number;
    offset: number;
  };
  /** the first time of a reading that it corrects by itself */
  in_force_from: string;
  /** readings after its date are stored already: apply-to-history corrects them */
  history_behind: boolean;
});

export type GetCalibrationsAnswer = {
  probe: string;
  metric: string;
  /** what the probe sent last, before any correction: to calibrate against */
  wire: {
    value: number;
    unit: string;
    time: string;
  } | null;
  /** which calibration corrected the stored readings, by their time; null for the configuration */
  in_force: ({
    from: string | null;
    calibration: number | null;
  })[];
  calibrations: ({
    id: number;
    time: string;
    recorded: string;
    kind: "linear" | "cell" | "ph";
    by: string;
    why: string;
    verdict: {
      state: "good" | "unproven" | "clean_and_recalibrate" | "replace" | "not_judged";
      reasons: string[];
      slope_percent?: number;
      offset_mV?: number;
      worst_residual_ph?: number;
      standard_uncertainty_ph?: number;
      cell_factor?: number;
      standard_mS_cm?: number;
      error_percent?: number;
      standard_uncertainty_percent?: number;
    };
    correction: {
      electrode?: {
        signal: "ph" | "mV";
        offset_mV: number;
        slopeShare: number;
        meterTemperature_C: number;
      };
      slope: number;
      offset: number;
    };
  })[];
};

export type PostCalibrationsByIdApplyToHistoryBody = {
  from: string;
  to: string;
  by: string;
};

export type PostCalibrationsByIdApplyToHistoryAnswer = {
  calibration: number;
  probe: string;
  from: string;
  to: string;
  /** how many have another value or flag now */
  readings: number;
  salinity: number;
  specific_gravity: number;
  /** the journal entry that says what was done; null when there was nothing to do */
  note: number | null;
};

export type PostArrivalsPrepareBody = {
  /** id of the system */
  system: string;
  pieces: {
    count: number;
    longest_cm: number;
  }[];
  /** largest vessel for a dip bath */
  vessel_l: number;
  /** water that comes in the bags */
  bag_water_l?: number;
  /** part of a bath from the tank, half or more */
  tank_share?: number;
  /** the tank's; by its probe or test when absent */
  salinity?: number;
  /** a salt of logged batches: its strength is taken from them */
  salt?: string;
  /** by the salt's maker; without it, 'salt' must be known */
  grams_per_litre_at_35?: number;
  mixing_hours?: number;
  warm?: {
    from_c: number;
    /** the tank's temperature when absent */
    to_c?: number;
    heater_w: number;
    room_c?: number;
    loss_w_k?: number;
  };
  /** when the corals come: gives the time to start at the latest */
  expected?: string;
};

export type PostArrivalsBody = {
  /** id of the system */
  system: string;
  name: string;
  source?: string;
  pieces?: {
    kind: string;
    count: number;
    longest_cm?: number;
  }[];
  expected?: string;
  /** when it is here already */
  arrived?: string;
  pest?: "acropora_flatworm" | "montipora_nudibranch" | "acropora_red_bug" | "none_seen";
  /** the same key again is the same entry */
  key?: string;
};

export type PostArrivalsAnswer = {
  id: string;
  system: string;
  name: string;
  source: string | null;
  pieces: {
    kind: string;
    count: number;
    longest_cm?: number;
  }[];
  state: "expected" | "arrived" | "closed";
  expected: string | null;
  arrived: string | null;
  pest: string;
  dips: string[];
  inspections: {
    time: string;
    findings: string;
  }[];
  runs: string[];
  watch: ({
    text: string;
    look_for: string;
    source: string;
    days_measured: number;
    mean_measured_c: number | null;
    measured_share: number | null;
    clear: string | null;
    tasks: ({
      kind: "inspection" | "dip";
      due: string;
      opens: string | null;
      closes: string | null;
      state: "done" | "planned" | "due" | "late";
    })[];
    warnings: string[];
  }) | null;
  light: ({
    /** day of the plan; below 1 before it begins */
    today: number;
    /** when the rack was last set by the plan */
    moved: string | null;
    is_moved_today: boolean;
    target_dli: number;
    days: {
      day: number;
      date: string;
      height_cm: number;
      par: number;
      dli: number;
    }[];
    cautions: string[];
  }) | null;
  demand: ({
    before: {
      per_day: number;
      sd: number;
    } | null;
    after: {
      per_day: number;
      sd: number;
    } | null;
    added: {
      per_day: number;
      sd: number;
    } | null;
    tests_since: number;
    watch_ends: string;
    text: string;
  }) | null;
};

export type GetArrivalsAnswer = ({
  id: string;
  system: string;
  name: string;
  source: string | null;
  pieces: {
    kind: string;
    count: number;
    longest_cm?: number;
  }[];
  state: "expected" | "arrived" | "closed";
  expected: string | null;
  arrived: string | null;
  pest: string;
  dips: string[];
  inspections: {
    time: string;
    findings: string;
  }[];
  runs: string[];
  watch: ({
    text: string;
    look_for: string;
    source: string;
    days_measured: number;
    mean_measured_c: number | null;
    measured_share: number | null;
    clear: string | null;
    tasks: ({
      kind: "inspection" | "dip";
      due: string;
      opens: string | null;
      closes: string | null;
      state: "done" | "planned" | "due" | "late";
    })[];
    warnings: string[];
  }) | null;
  light: ({
    /** day of the plan; below 1 before it begins */
    today: number;
    /** when the rack was last set by the plan */
    moved: string | null;
    is_moved_today: boolean;
    target_dli: number;
    days: {
      day: number;
      date: string;
      height_cm: number;
      par: number;
      dli: number;
    }[];
    cautions: string[];
  }) | null;
  demand: ({
    before: {
      per_day: number;
      sd: number;
    } | null;
    after: {
      per_day: number;
      sd: number;
    } | null;
    added: {
      per_day: number;
      sd: number;
    } | null;
    tests_since: number;
    watch_ends: string;
    text: string;
  }) | null;
})[];

export type GetArrivalsByIdAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdArrivedBody = {
  time?: string;
};

export type PostArrivalsByIdArrivedAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdCloseBody = Record<string, never>;

export type PostArrivalsByIdCloseAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdPestBody = {
  pest: "acropora_flatworm" | "montipora_nudibranch" | "acropora_red_bug" | "none_seen";
};

export type PostArrivalsByIdPestAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdDipsBody = PostArrivalsByIdArrivedBody;

export type PostArrivalsByIdDipsAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdInspectionsBody = {
  time?: string;
  findings: string;
};

export type PostArrivalsByIdInspectionsAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdShockBody = {
  bag: {
    /** °C */
    temperature?: number;
    salinity?: number;
    /** as an aquarium electrode shows it (NBS) */
    ph?: number;
    litres?: number;
    /** total ammonia as nitrogen */
    total_ammonia_mg_l_n?: number;
  };
  /** the tank by its probes when absent */
  into?: {
    /** °C */
    temperature?: number;
    salinity?: number;
    /** as an aquarium electrode shows it (NBS) */
    ph?: number;
  };
  float_minutes?: number;
};

export type PostArrivalsByIdLightBody = {
  profile: {
    pairs: {
      height_cm: number;
      par: number;
    }[];
  } | {
    at: {
      height_cm: number;
      par: number;
    };
    attenuation_per_m: number;
    highest_cm?: number;
  };
  day: {
    full_hours: number;
    ramp_up_hours?: number;
    ramp_down_hours?: number;
  };
  start?: {
    par: number;
  } | {
    dli: number;
  };
  target: {
    par: number;
  } | {
    dli: number;
  };
  /** 21 when absent */
  days?: number;
  steps?: "equal_steps" | "equal_ratios";
  /** today in the site's zone when absent */
  first_day?: string;
};

export type PostArrivalsByIdLightAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdLightMovedBody = PostArrivalsByIdCloseBody;

export type PostArrivalsByIdLightMovedAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdLightHoldBody = {
  for_days?: number;
};

export type PostArrivalsByIdLightHoldAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdLightStepBackBody = {
  by_days?: number;
  for_days?: number;
};

export type PostArrivalsByIdLightStepBackAnswer = PostArrivalsAnswer;

export type PostArrivalsByIdRunsBody = {
  protocol?: string;
  /** true: the timer of the first step starts with it */
  start_timer?: boolean;
  /** one for each dip bath of the protocol, in order */
  baths?: {
    bath_l: number;
    tank_share?: number;
    reagents?: {
      name: string;
      dose_ml_l: number;
      label?: {
        low_ml_l: number;
        high_ml_l: number;
      };
    }[];
  }[];
  /** by the label, in place of the protocol's */
  soak_minutes?: number;
  rinse_l?: number;
  /** ids of registered pieces */
  pieces?: string[];
  /** a configured system whose probes stand in the bath */
  bath_probes?: string;
  /** the new water of the rinse bath */
  batch?: string;
};

export type PostArrivalsByIdRunsAnswer = {
  id: string;
  arrival: string;
  protocol: string;
  /** the first is 1; one more than there are when all are done */
  step: number;
  steps: ({
    step: string;
    words: string;
    minutes: number | null;
  })[];
  is_finished: boolean;
  words: string;
  cautions: string[];
  timer: ({
    started: string;
    ends: string;
    maximum: string | null;
    left_seconds: number;
  }) | null;
  bath: {
    tank_l: number;
    bag_l: number;
    /** fresh salt water into the tank for what the dip took */
    replace_l: number;
    rinse_l: number;
    fresh_l: number;
    reagents: {
      name: string;
      volume_ml: number;
    }[];
    soak_minutes: number;
    cautions: string[];
  } | null;
  bath_check: ({
    water: {
      temperature?: number;
      salinity?: number;
      ph?: number;
    };
    by: "probes" | "test" | "mixture" | "nothing";
    to_tank: {
      is_large: boolean;
      unknown: string[];
      warnings: string[];
      differences: {
        metric: string;
        from: number;
        to: number;
        is_large: boolean;
      }[];
    };
    from_bag: {
      is_large: boolean;
      unknown: string[];
      warnings: string[];
      differences: {
        metric: string;
        from: number;
        to: number;
        is_large: boolean;
      }[];
    } | null;
    warnings: string[];
  }) | null;
  new_water: {
    is_ready: boolean;
    metrics: {
      metric: string;
      verdict: string;
      text: string;
    }[];
  } | null;
  done: ({
    step: number;
    words: string;
    done: string;
    findings: string | null;
    /** by its clock; null for a step without minutes or without its clock */
    took_minutes: number | null;
    /** how much of its minutes was left out; null as took_minutes */
    early_minutes: number | null;
  })[];
};

export type GetRunsByRunAnswer = PostArrivalsByIdRunsAnswer;

export type PostRunsByRunTimerBody = PostArrivalsByIdCloseBody;

export type PostRunsByRunTimerAnswer = PostArrivalsByIdRunsAnswer;

export type PostRunsByRunDoneBody = {
  findings?: string;
  /** true: it is over although its minutes are not; without it such a step is refused */
  early?: boolean;
};

export type PostRunsByRunDoneAnswer = PostArrivalsByIdRunsAnswer;

export type PostRunsByRunUndoBody = PostArrivalsByIdCloseBody;

export type PostRunsByRunUndoAnswer = PostArrivalsByIdRunsAnswer;

export type PostRunsByRunBathWaterBody = {
  /** °C */
  temperature?: number;
  salinity?: number;
  /** as an aquarium electrode shows it (NBS) */
  ph?: number;
  bag?: {
    /** °C */
    temperature?: number;
    salinity?: number;
    /** as an aquarium electrode shows it (NBS) */
    ph?: number;
  };
};

export type PostRunsByRunBathWaterAnswer = {
  water: {
    temperature?: number;
    salinity?: number;
    ph?: number;
  };
  by: "probes" | "test" | "mixture" | "nothing";
  to_tank: {
    is_large: boolean;
    unknown: string[];
    warnings: string[];
    differences: {
      metric: string;
      from: number;
      to: number;
      is_large: boolean;
    }[];
  };
  from_bag: {
    is_large: boolean;
    unknown: string[];
    warnings: string[];
    differences: {
      metric: string;
      from: number;
      to: number;
      is_large: boolean;
    }[];
  } | null;
  warnings: string[];
};

export type PostBatchesPlanBody = {
  /** of the finished water */
  litres: number;
  /** wanted */
  salinity: number;
  /** of the water at hand; 0 for fresh water */
  salinity_now?: number;
  /** its strength by the batches of it that were measured */
  salt?: string;
  /** by the salt's maker; without it, 'salt' must be known */
  grams_per_litre_at_35?: number;
};

export type PostBatchesPlanAnswer = {
  salt_g: number;
  /** to pour on top when the water at hand is too strong */
  fresh_l: number;
  grams_per_litre_at_35: number;
  salinity_sd: number;
  batches_measured: number;
  cautions: string[];
};

export type PostBatchesBody = {
  /** the system that it is meant for */
  system: string;
  litres: number;
  /** what the keeper calls the salt */
  salt: string;
  salt_g: number;
  /** a configured system whose probes stand in the vessel */
  probes_of?: string;
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
};

export type PostBatchesAnswer = {
  id: string;
  system: string;
  made: string;
  litres: number;
  left_l: number;
  salt: string;
  salt_g: number;
  measured: string | null;
  water: Record<string, number>;
  uses: ({
    time: string;
    litres: number;
    water_change: number | null;
  })[];
  cautions: string[];
};

export type GetBatchesAnswer = ({
  id: string;
  system: string;
  made: string;
  litres: number;
  left_l: number;
  salt: string;
  salt_g: number;
  measured: string | null;
  water: Record<string, number>;
  uses: ({
    time: string;
    litres: number;
    water_change: number | null;
  })[];
})[];

export type PostBatchesByIdWaterBody = {
  temperature?: number;
  salinity?: number;
  salinity_sd?: number;
  /** dKH */
  alkalinity?: number;
  calcium?: number;
  magnesium?: number;
  nitrate?: number;
  phosphate?: number;
  time?: string;
  by?: string;
};

export type PostBatchesByIdWaterAnswer = {
  id: string;
  system: string;
  made: string;
  litres: number;
  left_l: number;
  salt: string;
  salt_g: number;
  measured: string | null;
  water: Record<string, number>;
  uses: ({
    time: string;
    litres: number;
    water_change: number | null;
  })[];
};

export type PostBatchesByIdMoreBody = {
  salt_g?: number;
  fresh_l?: number;
  time?: string;
  by?: string;
  /** the same key again is the same entry */
  key?: string;
};

export type PostBatchesByIdMoreAnswer = PostBatchesByIdWaterAnswer;

export type GetBatchesByIdMatchAnswer = {
  is_ready: boolean;
  metrics: {
    metric: string;
    verdict: string;
    text: string;
  }[];
};

export type GetSaltsBySaltAnswer = {
  grams_per_litre_at_35: number;
  sd_g_l: number;
  batches: number;
} | null;

export type PostWaterChangesPlanBody = {
  /** id of the system */
  system: string;
  /** what one change of so many litres does */
  volume_l?: number;
  /** day by day to a target */
  target?: {
    metric: "temperature" | "salinity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate";
    value: number;
  };
  batch?: string;
  /** the new water when it is no logged batch */
  water?: Partial<Record<"temperature" | "salinity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate", number>>;
  method?: "drain_then_fill" | "continuous";
};

export type PostWaterChangesPlanAnswer = {
  tank: Record<string, number>;
  incoming: Record<string, number>;
  /** the tank after one change of the litres asked for */
  after: (Record<string, number>) | null;
  largest_in_a_day_l: number;
  limited_by: string | null;
  by_day: ({
    exchanged_l: number;
    before: number;
    after: number;
  }[]) | null;
  no_plan: string | null;
  warnings: string[];
};

export type PostWaterChangesDoneBody = {
  /** id of the system */
  system: string;
  batch: string;
  volume_l: number;
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
};

export type PostWaterChangesDoneAnswer = {
  id: number;
  expected: Record<string, number>;
};

export type GetWaterChangesByIdEffectAnswer = ({
  metric: string;
  before: number;
  expected: number | null;
  after: number;
  by: "probe" | "test";
})[];

export type PostPiecesBody = {
  /** id of the system */
  system: string;
  /** what it is */
  kind: string;
  source?: string;
  arrival?: string;
  place?: string;
  time?: string;
  by?: string;
  note?: string;
  /** the same key again is the same entry */
  key?: string;
};

export type PostPiecesAnswer = {
  id: string;
  system: string;
  kind: string;
  added: string;
  source: string | null;
  arrival: string | null;
  frag_of: string | null;
  place: string | null;
  lost: ({
    time: string;
    cause: "pest" | "tissue_loss" | "bleached" | "broken" | "never_settled" | "other_animal" | "unknown";
  }) | null;
  photos: string[];
  events: {
    time: string;
    event: string;
    more: Record<string, unknown>;
  }[];
};

export type GetPiecesAnswer = ({
  id: string;
  system: string;
  kind: string;
  added: string;
  source: string | null;
  arrival: string | null;
  frag_of: string | null;
  place: string | null;
  lost: ({
    time: string;
    cause: "pest" | "tissue_loss" | "bleached" | "broken" | "never_settled" | "other_animal" | "unknown";
  }) | null;
  photos: string[];
  events: {
    time: string;
    event: string;
    more: Record<string, unknown>;
  }[];
})[];

export type GetPiecesLossesAnswer = {
  lost: number;
  by_cause: Partial<Record<"pest" | "tissue_loss" | "bleached" | "broken" | "never_settled" | "other_animal" | "unknown", number>>;
};

export type GetPiecesByIdAnswer = PostPiecesAnswer;

export type PostPiecesByIdEventsBody = {
  event: "moved";
  place: string;
  time?: string;
  by?: string;
  note?: string;
} | {
  event: "dipped";
  time?: string;
  by?: string;
  note?: string;
} | {
  event: "fragged";
  frags: number;
  time?: string;
  by?: string;
  note?: string;
} | ({
  event: "lost";
  cause: "pest" | "tissue_loss" | "bleached" | "broken" | "never_settled" | "other_animal" | "unknown";
  time?: string;
  by?: string;
  note?: string;
}) | {
  event: "growth";
  longest_cm?: number;
  time?: string;
  by?: string;
  note?: string;
};

export type PostPiecesByIdEventsAnswer = {
  piece: {
    id: string;
    system: string;
    kind: string;
    added: string;
    source: string | null;
    arrival: string | null;
    frag_of: string | null;
    place: string | null;
    lost: ({
      time: string;
      cause: "pest" | "tissue_loss" | "bleached" | "broken" | "never_settled" | "other_animal" | "unknown";
    }) | null;
    photos: string[];
    events: {
      time: string;
      event: string;
      more: Record<string, unknown>;
    }[];
  };
  frags: ({
    id: string;
    system: string;
    kind: string;
    added: string;
    source: string | null;
    arrival: string | null;
    frag_of: string | null;
    place: string | null;
    lost: ({
      time: string;
      cause: "pest" | "tissue_loss" | "bleached" | "broken" | "never_settled" | "other_animal" | "unknown";
    }) | null;
    photos: string[];
    events: {
      time: string;
      event: string;
      more: Record<string, unknown>;
    }[];
  })[];
};

export type GetWeeksByWeekReviewAnswer = {
  week: string;
  site: string;
  timezone: string;
  isInvented: boolean;
  /** UTC milliseconds */
  fromMs: number;
  /** exclusive */
  toMs: number;
  /** the end of the week, or now while it runs */
  asOfMs: number;
  isOver: boolean;
  /** length of the whole week: 167 to 169 where the clocks change */
  hours: number;
  /** the result in one line */
  line: string;
  /** time inside of all time heard, over all probes of a metric with a band */
  bandsKept: {
    value: number;
  } | {
    /** why there is no number */
    absent: string;
  };
  bands: ({
    system: string;
    systemName: string;
    metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation";
    label: string;
    unit: string;
    decimals: number;
    probe: string;
    band: {
      low: number;
      high: number;
    } | null;
    /** of the minutes with a reading, those whose mean lies inside the band, edges included */
    shareInBand: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** minutes of real time that lie in no gap */
    minutesHeard: number;
    /** the other share of the minutes heard */
    minutesOutside: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** time that lies in no gap, of the week so far */
    shareHeard: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    min: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    mean: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    max: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** oldest first, those with a reading */
    hours: {
      /** UTC milliseconds */
      timeMs: number;
      min: number;
      mean: number;
      max: number;
    }[];
  })[];
  swings: ({
    system: string;
    systemName: string;
    metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation";
    label: string;
    unit: string;
    decimals: number;
    probe: string;
    /** greatest less least five-minute median of one local day */
    largestOfDay: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    onDate: string | null;
    /** as the configuration allows it */
    mostPerDay: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** greatest less least five-minute median within 60 minutes */
    largestOfHour: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    hourFromMs: number | null;
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    mostPerHour: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    days: ({
      date: string;
      /** a number, or the reason why there is none; never 0 in place of a number that is not known */
      swing: {
        value: number;
      } | {
        /** why there is no number */
        absent: string;
      };
    })[];
  })[];
  demand: ({
    system: string;
    systemName: string;
    metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation";
    label: string;
    unit: string;
    decimals: number;
    /** what the corals use in a day, at the end of the week */
    perDay: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    low95: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    high95: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** against the begin of the week */
    change: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** rise by doses, entered and by plan */
    dosedPerDay: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** at each midnight of the week */
    days: {
      /** UTC milliseconds */
      timeMs: number;
      perDay: number;
      low95: number;
      high95: number;
    }[];
  })[];
  doses: ({
    system: string;
    systemName: string;
    what: string;
    unit: "mL" | "g" | "L";
    /** entered by a person or a machine */
    times: number;
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    entered: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** of the standing plan, which is taken as carried out */
    byPlan: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
  })[];
  tests: ({
    system: string;
    systemName: string;
    metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation";
    label: string;
    unit: string;
    decimals: number;
    done: number;
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    expected: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    missing: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** tests that the tests after them refuted */
    outliers: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** tests that wait for the next test to decide */
    inDoubt: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** standard uncertainty of one test */
    uncertainty: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    uncertaintyBy: "stated" | "learned" | "none";
    /** 0 to 1 */
    shareInBand: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    band: {
      low: number;
      high: number;
    } | null;
    lastMs: number | null;
    tests: ({
      /** UTC milliseconds */
      timeMs: number;
      value: number;
      sd: number | null;
      verdict: "sound" | "refuted" | "in_doubt" | "not_judged";
    })[];
  })[];
  alarms: {
    /** alarms raised or raised again */
    raised: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    perDay: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    byPriority: {
      /** a number, or the reason why there is none; never 0 in place of a number that is not known */
      high: {
        value: number;
      } | {
        /** why there is no number */
        absent: string;
      };
      /** a number, or the reason why there is none; never 0 in place of a number that is not known */
      medium: {
        value: number;
      } | {
        /** why there is no number */
        absent: string;
      };
      /** a number, or the reason why there is none; never 0 in place of a number that is not known */
      low: {
        value: number;
      } | {
        /** why there is no number */
        absent: string;
      };
    };
    /** of the week, with at least one alarm that stands */
    timeInAlarm: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    standingMs: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    longestMs: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    longest: string | null;
    longestStands: boolean;
    chattering: string[];
    mostFrequent: {
      alarm: string;
      words: string;
      raised: number;
    }[];
    perDate: ({
      date: string;
      /** a number, or the reason why there is none; never 0 in place of a number that is not known */
      raised: {
        value: number;
      } | {
        /** why there is no number */
        absent: string;
      };
    })[];
  };
  corals: {
    arrived: number;
    /** pieces that came with them, as they were noted */
    pieces: number;
    lost: number;
    byCause: {
      cause: string;
      lost: number;
    }[];
    /** pieces in the register that are not lost, at the end of the week */
    kept: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    arrivals: {
      /** UTC milliseconds */
      timeMs: number;
      system: string;
      systemName: string;
      name: string;
      words: string;
    }[];
    losses: {
      /** UTC milliseconds */
      timeMs: number;
      system: string;
      systemName: string;
      name: string;
      words: string;
    }[];
  };
  probes: ({
    system: string;
    systemName: string;
    metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation";
    label: string;
    unit: string;
    decimals: number;
    probe: string;
    name: string;
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    gaps: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    longestGapMs: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** sum of the gaps */
    silentMs: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** readings that failed a check and count for nothing */
    failed: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    calibrationAgeDays: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** a number, or the reason why there is none; never 0 in place of a number that is not known */
    calibrateEveryDays: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** alarms of the rule flat_line */
    flatLines: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
    /** the longest time on one number */
    longestSameMs: {
      value: number;
    } | {
      /** why there is no number */
      absent: string;
    };
  })[];
  happened: {
    /** UTC milliseconds */
    timeMs: number;
    systemName: string;
    words: string;
  }[];
  changed: {
    /** UTC milliseconds */
    timeMs: number;
    systemName: string;
    words: string;
  }[];
  toDo: ({
    kind: "band" | "probe" | "alarm" | "advice" | "test" | "calibration" | "container" | "pest";
    system: string;
    systemName: string;
    what: string;
    /** the same for a phone */
    short: string;
    reason: string;
  })[];
};

export type GetSettingsAnswer = {
  timezone: string;
  units: ({
    metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation";
    label: string;
    /** the units it may be shown in, the store's own first; empty for a pure number */
    units: string[];
    file: string;
    /** null: as the file has it */
    chosen: string | null;
  })[];
  quiet_hours: {
    medium: {
      file: {
        from: string;
        to: string;
      };
      chosen: {
        from: string;
        to: string;
      } | null;
    };
    low: {
      file: {
        from: string;
        to: string;
      };
      chosen: {
        from: string;
        to: string;
      } | null;
    };
  };
};

export type PostSettingsBody = {
  /** in which unit a metric is shown; null for the value of the file */
  display_units?: Partial<Record<"temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation", string | null>>;
  /** by the wall clock of the site; the same time twice for none; null for the value of the file */
  quiet_hours?: {
    medium?: {
      from: string;
      to: string;
    } | null;
    low?: {
      from: string;
      to: string;
    } | null;
  };
  by?: string;
};

export type PostSettingsAnswer = GetSettingsAnswer;

export type GetConfigurationAnswer = {
  /** null where the hub was started without a file, as in the demo */
  path: string | null;
  /** what is in force, with every default, as YAML; secrets are never shown */
  text: string;
  /** keys whose value was chosen in the page and lies over the file */
  chosen_in_page: string[];
  file: ({
    state: "as_started" | "changed" | "unreadable";
    problems: {
      line: number;
      column: number;
      path: string;
      text: string;
    }[];
    warnings: string[];
  }) | null;
  /** what the page may change in the file; null without one, or with mistakes in it */
  editable: ({
    /** sign of the file as it is now; a change names it */
    seen: string;
    groups: ({
      title: string;
      parts: ({
        title: string;
        fields: ({
          /** as a change names it */
          path: string;
          label: string;
          unit: string;
          kind: "number" | "text" | "time";
          /** null where the file does not say it */
          value: number | string | null;
        })[];
      })[];
    })[];
    /** that can be gone back from */
    last_change: {
      time: string;
      by: string;
    } | null;
    /** true where the hub starts again by itself after a change */
    starts_again: boolean;
  }) | null;
};

export type PostConfigurationPreviewBody = {
  changes: ({
    /** e.g. systems.display.bands.alkalinity.high; entries of a list by their id */
    path: string;
    /** null takes the key out */
    value: number | string | null;
  })[];
  seen: string;
};

export type PostConfigurationPreviewAnswer = {
  difference: ({
    is: "out" | "in";
    line: number;
    text: string;
  })[];
  warnings: string[];
};

export type PostConfigurationChangeBody = {
  changes: ({
    /** e.g. systems.display.bands.alkalinity.high; entries of a list by their id */
    path: string;
    /** null takes the key out */
    value: number | string | null;
  })[];
  seen: string;
  by?: string;
};

export type PostConfigurationBackBody = {
  seen: string;
  by?: string;
};

/** Every operation of the API as a function; `send` carries it to a hub. */
export function createClient(send: Send) {
  return {
    /** Whether a sign-in is needed, and whether this is one. Scope: open. */
    getSession: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/session' }),
    /** Sign in: sets the session cookie. Scope: open. */
    postSession: <Answer = unknown>(given: { body: PostSessionBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/session', body: given.body }),
    /** Sign out. Scope: read. */
    deleteSession: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'DELETE', path: '/api/session' }),
    /** Sign out everywhere. Scope: admin. */
    deleteSessions: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'DELETE', path: '/api/sessions' }),
    /** Does the hub do its work? 503 when a start anew is the way out. Scope: open. */
    getHealthAlive: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/health/alive' }),
    /** Is all started, and is what it is told stored? 503 when not. Scope: open. */
    getHealthReady: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/health/ready' }),
    /** Whether the hub is alive and ready (503 when not), and to whoever may read: each part, with causes. Scope: open. */
    getHealth: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/health' }),
    /** Figures of the hub and the last value of each probe, OpenMetrics text 1.0. Scope: read. */
    getMetrics: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/metrics' }),
    /** Every system with its metrics, tests, alarms and advice. Scope: read. */
    getRoom: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/room' }),
    /** Suggested doses with their reasons. Scope: read. */
    getAdviceBySystem: <Answer = unknown>(given: { system: string }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/advice/${encodeURIComponent(given.system)}` }),
    /** What to do now or today over all tanks, the most urgent first. Scope: read. */
    getNow: (): Promise<GetNowAnswer> =>
      send<GetNowAnswer>({ method: 'GET', path: '/api/now' }),
    /** A metric over time, as the least and greatest value of each of about `points` intervals. Scope: read. */
    getSeriesBySystemByMetric: <Answer = unknown>(given: { system: string; metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation"; query: { from: string; to: string; points?: number; probe?: string } }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/series/${encodeURIComponent(given.system)}/${encodeURIComponent(given.metric)}`, query: given.query }),
    /** Single readings with their flags, when there are at most 6000 of them in at most three days; else none, and why. Scope: read. */
    getReadingsBySystemByMetric: <Answer = unknown>(given: { system: string; metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation"; query: { from: string; to: string; probe?: string } }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/readings/${encodeURIComponent(given.system)}/${encodeURIComponent(given.metric)}`, query: given.query }),
    /** The band of a metric as it was over a span of time; null edges where there was none. Scope: read. */
    getBandsBySystemByMetric: <Answer = unknown>(given: { system: string; metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation"; query: { from: string; to: string } }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/bands/${encodeURIComponent(given.system)}/${encodeURIComponent(given.metric)}`, query: given.query }),
    /** What happened to a system in a span of time: tests, doses, water changes, calibrations, arrivals, alarms. Scope: read. */
    getMarksBySystem: <Answer = unknown>(given: { system: string; query: { from: string; to: string } }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/marks/${encodeURIComponent(given.system)}`, query: given.query }),
    /** Enter a test; 409 asks when the value looks like a slip: send it again with confirmed: true. Scope: enter. */
    postTests: (given: { body: PostTestsBody }): Promise<PostTestsAnswer> =>
      send<PostTestsAnswer>({ method: 'POST', path: '/api/tests', body: given.body }),
    /** Enter a dose that was given; 409 asks when it looks like a slip: send it again with confirmed: true. Scope: enter. */
    postDoses: (given: { body: PostDosesBody }): Promise<PostDosesAnswer> =>
      send<PostDosesAnswer>({ method: 'POST', path: '/api/doses', body: given.body }),
    /** Enter a water change; 409 asks when it looks like a slip: send it again with confirmed: true. Scope: enter. */
    postWaterChanges: (given: { body: PostWaterChangesBody }): Promise<PostWaterChangesAnswer> =>
      send<PostWaterChangesAnswer>({ method: 'POST', path: '/api/water-changes', body: given.body }),
    /** Take an entry back: it stays in the journal and no longer counts. Scope: enter. */
    postEntriesByIdWithdraw: (given: { id: number; body?: PostEntriesByIdWithdrawBody }): Promise<PostEntriesByIdWithdrawAnswer> =>
      send<PostEntriesByIdWithdrawAnswer>({ method: 'POST', path: `/api/entries/${encodeURIComponent(given.id)}/withdraw`, body: given.body ?? {} }),
    /** What is in the journal, newest first; what was corrected or taken back is left out. Scope: read. */
    getEntries: <Answer = unknown>(given: { query?: { system?: string; kind?: "test" | "dose" | "water_change" | "calibration" | "note" | "alarm" | "advice" | "arrival" | "piece" | "batch" | "plan" | "refill"; limit?: number } } = {}): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/entries', query: given.query }),
    /** Say why advice is not followed; it is folded away until it becomes other advice. Scope: enter. */
    postAdviceDecline: <Answer = unknown>(given: { body: PostAdviceDeclineBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/advice/decline', body: given.body }),
    /** Show declined advice again. Scope: enter. */
    postAdviceResume: <Answer = unknown>(given: { body: PostAdviceResumeBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/advice/resume', body: given.body }),
    /** Level, demand and the week to come, with every test, its weight and the doses between in plain words. Scope: read. */
    getEstimatesBySystemByAnalyte: <Answer = unknown>(given: { system: string; analyte: "alkalinity" | "calcium" | "magnesium" }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/estimates/${encodeURIComponent(given.system)}/${encodeURIComponent(given.analyte)}` }),
    /** How full the containers are and how many days they last. Scope: read. */
    getContainersBySystem: <Answer = unknown>(given: { system: string }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/containers/${encodeURIComponent(given.system)}` }),
    /** Change what is dosed of a stock every day; 0 mL ends it. Scope: enter. */
    postPlan: (given: { body: PostPlanBody }): Promise<PostPlanAnswer> =>
      send<PostPlanAnswer>({ method: 'POST', path: '/api/plan', body: given.body }),
    /** A container was filled: to its full size, or to so many millilitres. Scope: enter. */
    postRefills: (given: { body: PostRefillsBody }): Promise<PostRefillsAnswer> =>
      send<PostRefillsAnswer>({ method: 'POST', path: '/api/refills', body: given.body }),
    /** Alarms that stand or wait for an acknowledgement. Scope: read. */
    getAlarms: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/alarms' }),
    /** Acknowledge an alarm. Scope: enter. */
    postAlarmsAcknowledge: <Answer = unknown>(given: { body: PostAlarmsAcknowledgeBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/alarms/acknowledge', body: given.body }),
    /** Silence an alarm for a time: at most what the configuration allows, one that asks to act now with a reason. Scope: enter. */
    postAlarmsShelve: <Answer = unknown>(given: { body: PostAlarmsShelveBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/alarms/shelve', body: given.body }),
    /** End the silence of an alarm. Scope: enter. */
    postAlarmsUnshelve: <Answer = unknown>(given: { body: PostAlarmsUnshelveBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/alarms/unshelve', body: given.body }),
    /** Judge nothing of a system, or of one probe, for a time of at most a day: probes are out of the water. Scope: enter. */
    postMaintenance: <Answer = unknown>(given: { body: PostMaintenanceBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/maintenance', body: given.body }),
    /** Systems and probes that are not judged now, until when, and by whose word. Scope: read. */
    getMaintenance: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/maintenance' }),
    /** End a maintenance window. Scope: enter. */
    postMaintenanceEnd: <Answer = unknown>(given: { body: PostMaintenanceEndBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/maintenance/end', body: given.body }),
    /** Calibrate a probe; with dry_run=true only the verdict is given and nothing is kept. Scope: admin. */
    postCalibrations: (given: { body: PostCalibrationsBody; query?: { dry_run?: "true" | "false" } }): Promise<PostCalibrationsAnswer> =>
      send<PostCalibrationsAnswer>({ method: 'POST', path: '/api/calibrations', query: given.query, body: given.body }),
    /** The calibrations of a probe, oldest first, and what it sends without them. Scope: read. */
    getCalibrations: (given: { query: { probe: string } }): Promise<GetCalibrationsAnswer> =>
      send<GetCalibrationsAnswer>({ method: 'GET', path: '/api/calibrations', query: given.query }),
    /** Correct the stored readings of the probe by this calibration, and what is derived from them. Scope: admin. */
    postCalibrationsByIdApplyToHistory: (given: { id: number; body: PostCalibrationsByIdApplyToHistoryBody }): Promise<PostCalibrationsByIdApplyToHistoryAnswer> =>
      send<PostCalibrationsByIdApplyToHistoryAnswer>({ method: 'POST', path: `/api/calibrations/${encodeURIComponent(given.id)}/apply-to-history`, body: given.body }),
    /** Protocols, and what is wrong with files that were left out. Scope: read. */
    getProtocols: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/protocols' }),
    /** Water, salt and time to have ready for new corals. Scope: enter. */
    postArrivalsPrepare: <Answer = unknown>(given: { body: PostArrivalsPrepareBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/arrivals/prepare', body: given.body }),
    /** New corals are expected, or are here. Scope: enter. */
    postArrivals: (given: { body: PostArrivalsBody }): Promise<PostArrivalsAnswer> =>
      send<PostArrivalsAnswer>({ method: 'POST', path: '/api/arrivals', body: given.body }),
    /** All arrivals. Scope: read. */
    getArrivals: (): Promise<GetArrivalsAnswer> =>
      send<GetArrivalsAnswer>({ method: 'GET', path: '/api/arrivals' }),
    /** One arrival: watch for pests, light plan, what it added to the use. Scope: read. */
    getArrivalsById: (given: { id: string }): Promise<GetArrivalsByIdAnswer> =>
      send<GetArrivalsByIdAnswer>({ method: 'GET', path: `/api/arrivals/${encodeURIComponent(given.id)}` }),
    /** It was entered by mistake; refused while its pieces soak. Scope: enter. */
    deleteArrivalsById: <Answer = unknown>(given: { id: string }): Promise<Answer> =>
      send<Answer>({ method: 'DELETE', path: `/api/arrivals/${encodeURIComponent(given.id)}` }),
    /** They are here: the demand estimate expects a step. Scope: enter. */
    postArrivalsByIdArrived: (given: { id: string; body?: PostArrivalsByIdArrivedBody }): Promise<PostArrivalsByIdArrivedAnswer> =>
      send<PostArrivalsByIdArrivedAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/arrived`, body: given.body ?? {} }),
    /** Their care ends. Scope: enter. */
    postArrivalsByIdClose: (given: { id: string; body?: PostArrivalsByIdCloseBody }): Promise<PostArrivalsByIdCloseAnswer> =>
      send<PostArrivalsByIdCloseAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/close`, body: given.body ?? {} }),
    /** What was found: the watch follows its biology. Scope: enter. */
    postArrivalsByIdPest: (given: { id: string; body: PostArrivalsByIdPestBody }): Promise<PostArrivalsByIdPestAnswer> =>
      send<PostArrivalsByIdPestAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/pest`, body: given.body }),
    /** A dip that was done without a checklist. Scope: enter. */
    postArrivalsByIdDips: (given: { id: string; body?: PostArrivalsByIdDipsBody }): Promise<PostArrivalsByIdDipsAnswer> =>
      send<PostArrivalsByIdDipsAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/dips`, body: given.body ?? {} }),
    /** An inspection with its findings. Scope: enter. */
    postArrivalsByIdInspections: (given: { id: string; body: PostArrivalsByIdInspectionsBody }): Promise<PostArrivalsByIdInspectionsAnswer> =>
      send<PostArrivalsByIdInspectionsAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/inspections`, body: given.body }),
    /** Bag against tank: shock, ammonia, and how to bring them over. Scope: enter. */
    postArrivalsByIdShock: <Answer = unknown>(given: { id: string; body: PostArrivalsByIdShockBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/shock`, body: given.body }),
    /** Lay the light plan: the height of the rack for each day. Scope: enter. */
    postArrivalsByIdLight: (given: { id: string; body: PostArrivalsByIdLightBody }): Promise<PostArrivalsByIdLightAnswer> =>
      send<PostArrivalsByIdLightAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/light`, body: given.body }),
    /** The rack stands at the height of today. Scope: enter. */
    postArrivalsByIdLightMoved: (given: { id: string; body?: PostArrivalsByIdLightMovedBody }): Promise<PostArrivalsByIdLightMovedAnswer> =>
      send<PostArrivalsByIdLightMovedAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/light/moved`, body: given.body ?? {} }),
    /** Stay at today's light for some days. Scope: enter. */
    postArrivalsByIdLightHold: (given: { id: string; body?: PostArrivalsByIdLightHoldBody }): Promise<PostArrivalsByIdLightHoldAnswer> =>
      send<PostArrivalsByIdLightHoldAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/light/hold`, body: given.body ?? {} }),
    /** Back to the light of some days before. Scope: enter. */
    postArrivalsByIdLightStepBack: (given: { id: string; body?: PostArrivalsByIdLightStepBackBody }): Promise<PostArrivalsByIdLightStepBackAnswer> =>
      send<PostArrivalsByIdLightStepBackAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/light/step-back`, body: given.body ?? {} }),
    /** Start a protocol. Scope: enter. */
    postArrivalsByIdRuns: (given: { id: string; body?: PostArrivalsByIdRunsBody }): Promise<PostArrivalsByIdRunsAnswer> =>
      send<PostArrivalsByIdRunsAnswer>({ method: 'POST', path: `/api/arrivals/${encodeURIComponent(given.id)}/runs`, body: given.body ?? {} }),
    /** The step at hand with its bath, timer and cautions. Scope: read. */
    getRunsByRun: (given: { run: string }): Promise<GetRunsByRunAnswer> =>
      send<GetRunsByRunAnswer>({ method: 'GET', path: `/api/runs/${encodeURIComponent(given.run)}` }),
    /** Give up a protocol; refused while its pieces soak. Scope: enter. */
    deleteRunsByRun: <Answer = unknown>(given: { run: string }): Promise<Answer> =>
      send<Answer>({ method: 'DELETE', path: `/api/runs/${encodeURIComponent(given.run)}` }),
    /** Start the timer of the step at hand. Scope: enter. */
    postRunsByRunTimer: (given: { run: string; body?: PostRunsByRunTimerBody }): Promise<PostRunsByRunTimerAnswer> =>
      send<PostRunsByRunTimerAnswer>({ method: 'POST', path: `/api/runs/${encodeURIComponent(given.run)}/timer`, body: given.body ?? {} }),
    /** The step at hand is done; before its minutes are over only with `early`. Scope: enter. */
    postRunsByRunDone: (given: { run: string; body?: PostRunsByRunDoneBody }): Promise<PostRunsByRunDoneAnswer> =>
      send<PostRunsByRunDoneAnswer>({ method: 'POST', path: `/api/runs/${encodeURIComponent(given.run)}/done`, body: given.body ?? {} }),
    /** The last step was marked done by a slip; its timer goes on by the same clock. Scope: enter. */
    postRunsByRunUndo: (given: { run: string; body?: PostRunsByRunUndoBody }): Promise<PostRunsByRunUndoAnswer> =>
      send<PostRunsByRunUndoAnswer>({ method: 'POST', path: `/api/runs/${encodeURIComponent(given.run)}/undo`, body: given.body ?? {} }),
    /** What was measured in the bath and the bags. Scope: enter. */
    postRunsByRunBathWater: (given: { run: string; body?: PostRunsByRunBathWaterBody }): Promise<PostRunsByRunBathWaterAnswer> =>
      send<PostRunsByRunBathWaterAnswer>({ method: 'POST', path: `/api/runs/${encodeURIComponent(given.run)}/bath-water`, body: given.body ?? {} }),
    /** Salt for so much water, or fresh water for what is too strong. Scope: enter. */
    postBatchesPlan: (given: { body: PostBatchesPlanBody }): Promise<PostBatchesPlanAnswer> =>
      send<PostBatchesPlanAnswer>({ method: 'POST', path: '/api/batches/plan', body: given.body }),
    /** Salt water was made up. Scope: enter. */
    postBatches: (given: { body: PostBatchesBody }): Promise<PostBatchesAnswer> =>
      send<PostBatchesAnswer>({ method: 'POST', path: '/api/batches', body: given.body }),
    /** All batches, oldest first. Scope: read. */
    getBatches: (): Promise<GetBatchesAnswer> =>
      send<GetBatchesAnswer>({ method: 'GET', path: '/api/batches' }),
    /** What was measured in a batch. Scope: enter. */
    postBatchesByIdWater: (given: { id: string; body?: PostBatchesByIdWaterBody }): Promise<PostBatchesByIdWaterAnswer> =>
      send<PostBatchesByIdWaterAnswer>({ method: 'POST', path: `/api/batches/${encodeURIComponent(given.id)}/water`, body: given.body ?? {} }),
    /** Salt or fresh water went in later. Scope: enter. */
    postBatchesByIdMore: (given: { id: string; body?: PostBatchesByIdMoreBody }): Promise<PostBatchesByIdMoreAnswer> =>
      send<PostBatchesByIdMoreAnswer>({ method: 'POST', path: `/api/batches/${encodeURIComponent(given.id)}/more`, body: given.body ?? {} }),
    /** Whether it matches its tank, by probes or tests of both. Scope: read. */
    getBatchesByIdMatch: (given: { id: string }): Promise<GetBatchesByIdMatchAnswer> =>
      send<GetBatchesByIdMatchAnswer>({ method: 'GET', path: `/api/batches/${encodeURIComponent(given.id)}/match` }),
    /** Strength of a salt by one's own batches. Scope: read. */
    getSaltsBySalt: (given: { salt: string }): Promise<GetSaltsBySaltAnswer> =>
      send<GetSaltsBySaltAnswer>({ method: 'GET', path: `/api/salts/${encodeURIComponent(given.salt)}` }),
    /** What a water change will do, before it is done. Scope: enter. */
    postWaterChangesPlan: (given: { body: PostWaterChangesPlanBody }): Promise<PostWaterChangesPlanAnswer> =>
      send<PostWaterChangesPlanAnswer>({ method: 'POST', path: '/api/water-changes/plan', body: given.body }),
    /** A water change with water of a batch was done. Scope: enter. */
    postWaterChangesDone: (given: { body: PostWaterChangesDoneBody }): Promise<PostWaterChangesDoneAnswer> =>
      send<PostWaterChangesDoneAnswer>({ method: 'POST', path: '/api/water-changes/done', body: given.body }),
    /** What a water change really did, beside what was expected. Scope: read. */
    getWaterChangesByIdEffect: (given: { id: number }): Promise<GetWaterChangesByIdEffectAnswer> =>
      send<GetWaterChangesByIdEffectAnswer>({ method: 'GET', path: `/api/water-changes/${encodeURIComponent(given.id)}/effect` }),
    /** A piece joins the register. Scope: enter. */
    postPieces: (given: { body: PostPiecesBody }): Promise<PostPiecesAnswer> =>
      send<PostPiecesAnswer>({ method: 'POST', path: '/api/pieces', body: given.body }),
    /** The register of pieces. Scope: read. */
    getPieces: (given: { query?: { system?: string; arrival?: string; here?: "true" | "false" } } = {}): Promise<GetPiecesAnswer> =>
      send<GetPiecesAnswer>({ method: 'GET', path: '/api/pieces', query: given.query }),
    /** What was lost in a span, by cause. Scope: read. */
    getPiecesLosses: (given: { query: { from: string; to: string; system?: string } }): Promise<GetPiecesLossesAnswer> =>
      send<GetPiecesLossesAnswer>({ method: 'GET', path: '/api/pieces/losses', query: given.query }),
    /** A piece and what befell it. Scope: read. */
    getPiecesById: (given: { id: string }): Promise<GetPiecesByIdAnswer> =>
      send<GetPiecesByIdAnswer>({ method: 'GET', path: `/api/pieces/${encodeURIComponent(given.id)}` }),
    /** Moved, dipped, fragged, lost, or how it grew; frags join the register. Scope: enter. */
    postPiecesByIdEvents: (given: { id: string; body: PostPiecesByIdEventsBody }): Promise<PostPiecesByIdEventsAnswer> =>
      send<PostPiecesByIdEventsAnswer>({ method: 'POST', path: `/api/pieces/${encodeURIComponent(given.id)}/events`, body: given.body }),
    /** A file of the weekly export. Scope: read. */
    getWeeksByWeekByFile: <Answer = unknown>(given: { week: string; file: "daily.csv" | "tests-doses.csv" | "alarms.csv" | "corals.csv" }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/weeks/${encodeURIComponent(given.week)}/${encodeURIComponent(given.file)}` }),
    /** The figures of a week, and what is to be done. Scope: read. */
    getWeeksByWeekReview: (given: { week: string }): Promise<GetWeeksByWeekReviewAnswer> =>
      send<GetWeeksByWeekReviewAnswer>({ method: 'GET', path: `/api/weeks/${encodeURIComponent(given.week)}/review` }),
    /** The week as one page to read and to print. Scope: read. */
    getWeeksByWeekReviewHtml: <Answer = unknown>(given: { week: string }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/weeks/${encodeURIComponent(given.week)}/review.html` }),
    /** Every other hub at a glance, the worst first. Scope: read. */
    getFleet: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/fleet' }),
    /** A hub with its systems, latest values and alarms. `hub` is its topic prefix, with / as %2F. Scope: read. */
    getFleetByHub: <Answer = unknown>(given: { hub: string }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/fleet/${encodeURIComponent(given.hub)}` }),
    /** A metric over time from the time-series database: least, mean and greatest of each of about `points` intervals. Scope: read. */
    getFleetByHubHistory: <Answer = unknown>(given: { hub: string; query: { system: string; metric: "temperature" | "ph" | "conductivity" | "specific_conductance_25" | "salinity" | "specific_gravity" | "alkalinity" | "calcium" | "magnesium" | "nitrate" | "phosphate" | "potassium" | "iodide" | "orp" | "level" | "par" | "pco2" | "aragonite_saturation"; from: string; to: string; points?: number } }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/fleet/${encodeURIComponent(given.hub)}/history`, query: given.query }),
    /** What can be set in the page, with the value of the file and the one chosen over it. Scope: read. */
    getSettings: (): Promise<GetSettingsAnswer> =>
      send<GetSettingsAnswer>({ method: 'GET', path: '/api/settings' }),
    /** Lay values over those of the file, or take them away again; the file is never written. Scope: admin. */
    postSettings: (given: { body?: PostSettingsBody } = {}): Promise<PostSettingsAnswer> =>
      send<PostSettingsAnswer>({ method: 'POST', path: '/api/settings', body: given.body ?? {} }),
    /** Every probe with its value, its last calibration and what that said of it. Scope: read. */
    getProbes: <Answer = unknown>(): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/probes' }),
    /** One probe while it is calibrated: what is on the wire, and whether it has settled. Scope: read. */
    getProbesById: <Answer = unknown>(given: { id: string }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: `/api/probes/${encodeURIComponent(given.id)}` }),
    /** What pH buffers, conductivity standards and seawater are at a temperature. Scope: read. */
    getCalibrationStandards: <Answer = unknown>(given: { query: { temperature_C: number; salinity?: number } }): Promise<Answer> =>
      send<Answer>({ method: 'GET', path: '/api/calibration-standards', query: given.query }),
    /** The configuration in force, what is wrong with its file as it is now, and what of it the page may change. Scope: admin. */
    getConfiguration: (): Promise<GetConfigurationAnswer> =>
      send<GetConfigurationAnswer>({ method: 'GET', path: '/api/configuration' }),
    /** What a change would make of the file, checked in whole; nothing is written. Scope: admin. */
    postConfigurationPreview: (given: { body: PostConfigurationPreviewBody }): Promise<PostConfigurationPreviewAnswer> =>
      send<PostConfigurationPreviewAnswer>({ method: 'POST', path: '/api/configuration/preview', body: given.body }),
    /** Write a checked change into the file, which keeps its comments; 409 when the file was changed meanwhile. Scope: admin. */
    postConfigurationChange: <Answer = unknown>(given: { body: PostConfigurationChangeBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/configuration/change', body: given.body }),
    /** Write back what the file said before the last change on the page. Scope: admin. */
    postConfigurationBack: <Answer = unknown>(given: { body: PostConfigurationBackBody }): Promise<Answer> =>
      send<Answer>({ method: 'POST', path: '/api/configuration/back', body: given.body }),
  };
}
