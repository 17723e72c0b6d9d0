use super::*;

fn of(quantity: Quantity, side: Side, facts: Facts) -> Blame {
    blame(quantity, side, &facts).blame
}

#[test]
fn a_burnt_contact_is_the_modules() {
    let facts = Facts {
        module: ModuleFacts { answers: Answers::Here, ..ModuleFacts::default() },
        clamp: ClampFacts {
            past_module: PastModule::Right,
            at_clamp: AtClamp::Dropped,
            coil_pulse: Some(true),
            moved: Some(true),
            ..ClampFacts::default()
        },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::LoadCurrent, Side::Below, facts), Blame::Module);
    assert_eq!(of(Quantity::ContactResistance, Side::Above, facts), Blame::Module);
}

#[test]
fn a_load_that_is_wrong_past_the_module_is_to_blame_itself() {
    for past_module in [PastModule::Low, PastModule::High] {
        let real = Facts {
            clamp: ClampFacts { past_module, ..ClampFacts::default() },
            ..Facts::default()
        };
        assert_eq!(of(Quantity::LoadCurrent, Side::Below, real), Blame::Load);
        let jig = Facts { clamp: ClampFacts { jig_load: true, ..real.clamp }, ..real };
        assert_eq!(of(Quantity::LoadCurrent, Side::Above, jig), Blame::Jig);
    }
}

#[test]
fn a_loose_lead_is_told_from_a_burnt_contact() {
    let loose = Facts {
        clamp: ClampFacts { past_module: PastModule::NoVoltage, ..ClampFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::ContactResistance, Side::Above, loose), Blame::Lead);
    assert_eq!(of(Quantity::LoadCurrent, Side::Below, loose), Blame::Lead);
}

#[test]
fn contact_inputs_that_are_all_dead_are_the_jigs() {
    let all = Facts {
        module: ModuleFacts { contacts_dead: true, ..ModuleFacts::default() },
        clamp: ClampFacts { moved: Some(false), ..ClampFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::ContactResponseTime, Side::Missing, all), Blame::Jig);
    let one = Facts {
        clamp: ClampFacts { moved: Some(false), ..ClampFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::ContactResponseTime, Side::Missing, one), Blame::Module);
}

#[test]
fn no_current_anywhere_but_coil_pulses_is_the_common_lead() {
    let facts = Facts {
        clamp: ClampFacts {
            past_module: PastModule::Right,
            common_off: true,
            coil_pulse: Some(true),
            ..ClampFacts::default()
        },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::LoadCurrent, Side::Below, facts), Blame::Lead);
    let one = Facts { clamp: ClampFacts { common_off: false, ..facts.clamp }, ..facts };
    assert_eq!(of(Quantity::LoadCurrent, Side::Below, one), Blame::Module);
}

#[test]
fn what_a_trip_of_the_feed_takes_away_is_blamed_as_the_trip() {
    let facts = Facts {
        module: ModuleFacts { draws_nothing: true, ..ModuleFacts::default() },
        reading: ReadingFacts { tripped: true, ..ReadingFacts::default() },
        ..Facts::default()
    };
    let trip = of(Quantity::StartCharge, Side::Missing, facts);
    for &quantity in FEED_CURRENTS {
        assert_eq!(of(quantity, Side::Missing, facts), trip, "{quantity:?}");
    }
    let off = Facts { reading: ReadingFacts { tripped: false, ..facts.reading }, ..facts };
    assert_eq!(of(Quantity::LampRate, Side::Missing, off), Blame::Lead);
}

#[test]
fn an_answer_elsewhere_is_a_setting() {
    let facts = Facts {
        module: ModuleFacts { answers: Answers::Elsewhere, ..ModuleFacts::default() },
        ..Facts::default()
    };
    for &quantity in ANSWERING {
        assert_eq!(of(quantity, Side::Missing, facts), Blame::Setting, "{quantity:?}");
    }
    let unsearched = ModuleFacts { answers: Answers::NotSearched, ..facts.module };
    let facts = Facts { module: unsearched, ..facts };
    assert_eq!(of(Quantity::Answers, Side::Below, facts), Blame::Unsure);
}

#[test]
fn a_silent_module_without_current_is_a_lead_and_with_current_is_a_module() {
    let live = Facts {
        module: ModuleFacts { answers: Answers::Nowhere, ..ModuleFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::WrongPositions, Side::Above, live), Blame::Module);
    let dead = Facts { module: ModuleFacts { draws_nothing: true, ..live.module }, ..live };
    assert_eq!(of(Quantity::WrongPositions, Side::Above, dead), Blame::Lead);
    assert_eq!(of(Quantity::IdleCurrent, Side::Below, dead), Blame::Lead);
}

#[test]
fn the_slider_is_a_setting_and_any_other_excess_a_module() {
    let on = Facts {
        reading: ReadingFacts { auxiliary_on: true, ..ReadingFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::IdleCurrent, Side::Above, on), Blame::Setting);
    assert_eq!(of(Quantity::IdleCurrent, Side::Above, Facts::default()), Blame::Module);
}

#[test]
fn swapped_clamps_and_swapped_commands_differ() {
    let both = Facts {
        clamp: ClampFacts { crossed: Crossed::Both, ..ClampFacts::default() },
        ..Facts::default()
    };
    let commands = Facts {
        clamp: ClampFacts { crossed: Crossed::CommandsOnly, ..ClampFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::UnwantedMoves, Side::Above, both), Blame::Lead);
    assert_eq!(of(Quantity::UnwantedMoves, Side::Above, commands), Blame::Module);
}

#[test]
fn supplies_are_the_jigs() {
    assert_eq!(of(Quantity::FeedVoltage, Side::Below, Facts::default()), Blame::Jig);
    assert_eq!(of(Quantity::LoadVoltage, Side::Above, Facts::default()), Blame::Jig);
    let sagging = Facts {
        module: ModuleFacts { supply_wrong: true, ..ModuleFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::LoadCurrent, Side::Below, sagging), Blame::Jig);
}

#[test]
fn what_a_feed_that_is_wrong_does_is_the_jigs() {
    let facts = Facts {
        module: ModuleFacts { feed_wrong: true, ..ModuleFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::StartCharge, Side::Below, facts), Blame::Jig);
    assert_eq!(of(Quantity::ResponseTime, Side::Above, facts), Blame::Module);
}

#[test]
fn a_choked_inrush_is_the_feed_leads() {
    let facts = Facts {
        module: ModuleFacts { feed_choked: true, ..ModuleFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::StartCharge, Side::Below, facts), Blame::Lead);
    assert_eq!(of(Quantity::CoilCurrent, Side::Below, facts), Blame::Lead);
    assert_eq!(of(Quantity::StartCharge, Side::Above, facts), Blame::Module);
}

#[test]
fn a_missing_auxiliary_current_is_the_slider_first() {
    let off = Facts {
        reading: ReadingFacts { auxiliary_off: true, ..ReadingFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::AuxiliaryCurrent, Side::Below, off), Blame::Setting);
    assert_eq!(of(Quantity::AuxiliaryCurrent, Side::Below, Facts::default()), Blame::Module);
}

#[test]
fn a_lamp_without_change_is_the_modules_only_if_that_lives() {
    assert_eq!(of(Quantity::LampRate, Side::Missing, Facts::default()), Blame::Unsure);
    let lives = Facts {
        module: ModuleFacts { answers: Answers::Here, ..ModuleFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::LampRate, Side::Missing, lives), Blame::Module);
    let inverted = Facts {
        reading: ReadingFacts { lamp_inverted: true, ..ReadingFacts::default() },
        ..Facts::default()
    };
    assert_eq!(of(Quantity::LampRate, Side::Above, inverted), Blame::Setting);
}

#[test]
fn what_lies_within_its_limits_is_nobodys_fault() {
    let lives = Facts {
        module: ModuleFacts { answers: Answers::Here, ..ModuleFacts::default() },
        clamp: ClampFacts { past_module: PastModule::Right, ..ClampFacts::default() },
        ..Facts::default()
    };
    for quantity in [Quantity::LoadCurrent, Quantity::ContactResistance, Quantity::IdleCurrent] {
        assert_eq!(of(quantity, Side::Inside, lives), Blame::Unsure);
    }
}
