//! Reasons, as keys with figures. `content` holds one sentence for each, with the figures' names as placeholders.

mod arg;

use crate::core::site::{End, Stop};
use crate::core::units::Figure;
pub use arg::{Arg, Named};

macro_rules! reasons {
    ($( $(#[$doc:meta])* $name:ident = $key:literal { $( $field:ident : $type:ty ),* $(,)? } )*) => {
        /// Why a verdict is what it is, or what to do next.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Because { $( $(#[$doc])* $name { $( $field: $type ),* } ),* }

        impl Because {
            /// Every key with the placeholders its sentence may use.
            pub const ALL: &'static [(&'static str, &'static [&'static str])] =
                &[$( ($key, &[$( stringify!($field) ),*]) ),*];

            /// The key of its sentence.
            pub fn key(&self) -> &'static str {
                match self { $( Because::$name { .. } => $key ),* }
            }

            /// Its figures by placeholder.
            pub fn args(&self) -> Vec<(&'static str, Arg)> {
                match self {
                    $( Because::$name { $( $field ),* } => vec![$( (stringify!($field), Arg::from($field.clone())) ),*] ),*
                }
            }
        }
    };
}

use crate::core::units::{
    AmpereHours, Amperes, BitRate, Celsius, Farads, FaultAmperes, Fraction, Hours, Joules, Metres, Ohms, OhmsPerMetre,
    Percent, Ratio, Reach, Seconds, SquareAmpereSeconds, SquareMillimetres, Volts, VoltsPerKelvin, Watts,
};

reasons! {
    // Not yet.
    NotDone = "not-done" {}
    VoltsFirst = "volts-first" {}

    // Volts, everything off.
    Quiet = "quiet" { reading: Volts, limit: Volts }
    NotQuiet = "not-quiet" { reading: Volts, limit: Volts }
    NearlyQuiet = "nearly-quiet" { reading: Volts, limit: Volts }

    // Ohms between the two data wires.
    PairHolds = "pair-holds" { reading: Ohms, low: Ohms, high: Ohms }
    PairNear = "pair-near" { reading: Ohms, low: Ohms, high: Ohms }
    OneTerminator = "one-terminator" { reading: Ohms }
    NoTerminator = "no-terminator" { reading: Ohms }
    PairOpen = "pair-open" {}
    ExtraTerminator = "extra-terminator" { reading: Ohms }
    WiresTouch = "wires-touch" { reading: Ohms }
    PairOdd = "pair-odd" { reading: Ohms }
    PairOutside = "pair-outside" { reading: Ohms }
    BeingExplained = "being-explained" {}
    PairAsBuilt = "pair-as-built" { reading: Ohms }
    // What the window rests on.
    WindowFrom = "window-from" { devices: u32, low: Ohms, high: Ohms }
    LeadsAdd = "leads-add" { length: Metres, loop_ohms: Ohms }
    MeterAdds = "meter-adds" { error: Ohms }
    OuterLimits = "outer-limits" { low: Ohms, high: Ohms }

    // What it may be, and what tells more.
    EndMissing = "end-missing" { end: End }
    EitherEndMissing = "either-end-missing" {}
    WireOpenBetween = "wire-open-between" {}
    WireOpenIn = "wire-open-in" { from: Stop, to: Stop }
    AllMissing = "all-missing" {}
    ExtraSomewhere = "extra-somewhere" {}
    TwoExtra = "two-extra" {}
    TerminatorValue = "terminator-value" {}
    TerminatorMisplaced = "terminator-misplaced" {}
    TouchIn = "touch-in" { from: Stop, to: Stop }
    NothingWrong = "nothing-wrong" {}
    CannotTellEnd = "cannot-tell-end" { gap: Ohms, error: Ohms }
    MeasureOtherEnd = "measure-other-end" { end: End }
    LookAtEnds = "look-at-ends" {}
    LookAtEnd = "look-at-end" { end: End }
    PullOneByOne = "pull-one-by-one" {}
    // Where a fault of the bus is, and what shows it when ohms do not.
    PlaceEnd = "place-end" { end: End }
    PlaceAt = "place-at" { at: Stop }
    PlaceMoved = "place-moved" { end: End, to: Stop }
    PlaceBetween = "place-between" { from: Stop, to: Stop }
    PlaceWireAt = "place-wire-at" { wire: Named, at: Stop }
    PlaceWireBetween = "place-wire-between" { wire: Named, from: Stop, to: Stop }
    // How the meter is held, and what a whole bus shows there.
    HoldAtEnd = "hold-at-end" { pair: Named, end: End }
    HoldAtStop = "hold-at-stop" { pair: Named, at: Stop }
    DoingNothing = "doing-nothing" {}
    DoingTerminatorPulled = "doing-terminator-pulled" { end: End }
    DoingLeadPulled = "doing-lead-pulled" { from: Stop, to: Stop }
    DoingBridged = "doing-bridged" { end: End }
    ExpectsBetween = "expects-between" { low: Ohms, high: Ohms }
    ExpectsAbove = "expects-above" { low: Ohms }
    ExpectsOpen = "expects-open" {}
    TellPinToPin = "tell-pin-to-pin" {}
    TellByLooking = "tell-by-looking" {}
    MeasureAlong = "measure-along" {}
    SwitchOff = "switch-off" {}
    WaitAndRepeat = "wait-and-repeat" {}

    // The display against the bank.
    ShownAgrees = "shown-agrees" { shown: Figure, expected: Figure }
    ModulesMissing = "modules-missing" { shown: Figure, expected: Figure, missing: u32, each: Figure }
    ModulesTooMany = "modules-too-many" { shown: Figure, expected: Figure, extra: u32, each: Figure }
    OneModuleOnly = "one-module-only" { shown: Figure, expected: Figure }
    SeriesTakenForParallel = "series-taken-for-parallel" { shown: Figure, expected: Figure }
    ShownDiffers = "shown-differs" { shown: Figure, expected: Figure }
    AnswersAll = "answers-all" { shown: u32 }
    AnswersTooFew = "answers-too-few" { shown: u32, expected: u32, missing: u32 }
    AnswersTooMany = "answers-too-many" { shown: u32, expected: u32 }
    ChargeNeedsSoc = "charge-needs-soc" {}
    ChargeTooMuch = "charge-too-much" { shown: AmpereHours, capacity: AmpereHours }
    ChargeAgrees = "charge-agrees" { shown: AmpereHours, soc: Percent, expected: AmpereHours }
    ChargeDiffers = "charge-differs" { shown: AmpereHours, soc: Percent, expected: AmpereHours }
    ChargeOfFewer = "charge-of-fewer" { shown: AmpereHours, soc: Percent, missing: u32 }
    SocPlausible = "soc-plausible" { shown: Percent }
    SocNeedsCharge = "soc-needs-charge" { shown: Percent }
    SocNotCalibrated = "soc-not-calibrated" { shown: Percent, expected: Percent }
    SocDiffers = "soc-differs" { shown: Percent, expected: Percent }
    SocAgrees = "soc-agrees" { shown: Percent, expected: Percent }
    SocTooMuch = "soc-too-much" { shown: Percent }
    NotCalibrated = "not-calibrated" {}
    Calibrated = "calibrated" {}
    VoltageInside = "voltage-inside" { shown: Volts, low: Volts, high: Volts }
    VoltageOutside = "voltage-outside" { shown: Volts, low: Volts, high: Volts }
    VoltageOfOneModule = "voltage-of-one-module" { shown: Volts, expected: Volts }
    CurrentOut = "current-out" {}
    CurrentReversed = "current-reversed" {}
    CurrentZero = "current-zero" {}

    // How an expected figure comes about.
    SumInParallel = "sum-in-parallel" { parallel: u32, each: AmpereHours, sum: AmpereHours }
    SumInSeries = "sum-in-series" { series: u32, parallel: u32, each: AmpereHours, sum: AmpereHours }
    ChargeFromSoc = "charge-from-soc" { soc: Percent, capacity: AmpereHours, sum: AmpereHours }
    RoundedWithin = "rounded-within" { error: Figure }
    CellsWindow = "cells-window" { cells: u32, low: Volts, high: Volts }

    // Advice after the numbers.
    FindSilentModule = "find-silent-module" {}
    SetNameplate = "set-nameplate" {}
    ChooseSource = "choose-source" {}
    ChargeFullOnce = "charge-full-once" {}
    TurnShunt = "turn-shunt" {}
    RaiseLoad = "raise-load" {}

    // Measure: volts on the data wires, powered.
    VoltsAsleep = "volts-asleep" { high: Volts, low: Volts }
    VoltsIdle = "volts-idle" { high: Volts, low: Volts }
    VoltsWorking = "volts-working" { high: Volts, low: Volts, difference: Volts }
    VoltsBusy = "volts-busy" { difference: Volts, least: Percent }
    VoltsBeyondLoad = "volts-beyond-load" { difference: Volts }
    VoltsSwapped = "volts-swapped" { high: Volts, low: Volts }
    VoltsStuck = "volts-stuck" { difference: Volts }
    VoltsWireAtReference = "volts-wire-at-reference" { wire: Named, other: Named, reading: Volts }
    VoltsWireAtSupply = "volts-wire-at-supply" { wire: Named, reading: Volts }
    VoltsBothAtSupply = "volts-both-at-supply" { reading: Volts }
    VoltsWrongReference = "volts-wrong-reference" { reading: Volts }
    VoltsUnclear = "volts-unclear" { high: Volts, low: Volts }
    VoltsOr = "volts-or" { state: Named }
    VoltsTwinReference = "volts-twin-reference" {}
    VoltsTwinTouch = "volts-twin-touch" {}
    VoltsLoad = "volts-load" { difference: Volts, least: Percent, greatest: Percent }
    VoltsLevels = "volts-levels" {}
    VoltsDominant = "volts-dominant" {}
    VoltsMeter = "volts-meter" { each: Volts }
    VoltsWake = "volts-wake" {}
    VoltsAskSender = "volts-ask-sender" {}
    VoltsDisplay = "volts-display" {}
    VoltsComparePins = "volts-compare-pins" {}
    VoltsUnplug = "volts-unplug" {}
    VoltsOhmsToReference = "volts-ohms-to-reference" { wire: Named }
    VoltsIsolate = "volts-isolate" {}
    VoltsParts = "volts-parts" {}
    VoltsFindReference = "volts-find-reference" {}
    VoltsBetween = "volts-between" {}
    VoltsCountSenders = "volts-count-senders" {}

    // Measure: length and bit rate.
    LengthHolds = "length-holds" { what: Named, given: Figure, most: Figure, left: Figure }
    LengthOver = "length-over" { what: Named, given: Figure, most: Figure, over: Figure }
    LengthSlower = "length-slower" { rate: BitRate }
    LengthShorterTrunk = "length-shorter-trunk" { most: Reach }
    LengthShorterDrop = "length-shorter-drop" { most: Reach }
    LengthFewerDevices = "length-fewer-devices" { most: u32 }
    LengthThicker = "length-thicker" { area: SquareMillimetres }
    LengthNothingToChange = "length-nothing-to-change" {}
    LengthTiming = "length-timing" { rate: BitRate, most: Reach }
    LengthTimingGood = "length-timing-good" { most: Reach }
    LengthCopper = "length-copper" { area: SquareMillimetres, temperature: Celsius, per_metre: OhmsPerMetre }
    LengthResistance = "length-resistance" { most: Reach }
    LengthCable = "length-cable" { most: OhmsPerMetre, per_metre: OhmsPerMetre }
    LengthBigTerminators = "length-big-terminators" {}
    LengthAllDrops = "length-all-drops" { drops: u32, drop: Metres, sum: Reach }

    // Measure: port profile.
    ProfilesAgree = "profiles-agree" { protocol: Named, rate: BitRate, bits: u32 }
    ProfilesAgreeSerial = "profiles-agree-serial" { protocol: Named, rate: BitRate }
    ProfilesAsFar = "profiles-as-far" { rate: BitRate, bits: u32 }
    ProfilesNone = "profiles-none" {}
    RatesDiffer = "rates-differ" { here: BitRate, there: BitRate }
    IdentifiersDiffer = "identifiers-differ" { here: u32, there: u32 }
    ProtocolsDiffer = "protocols-differ" { here: Named, there: Named }
    PinsDiffer = "pins-differ" { connector: Named }
    SocketsDiffer = "sockets-differ" { here: Named, there: Named }
    ProfileSet = "profile-set" { name: String, protocol: Named, rate: BitRate }
    ProfileFixed = "profile-fixed" { name: String }
    ProfileAskProtocol = "profile-ask-protocol" {}
    ProfileRightLead = "profile-right-lead" {}
    ProfileOtherPort = "profile-other-port" {}

    // Measure: RS-485.
    IdleEnough = "idle-enough" { idle: Volts, needed: Volts }
    IdleBarely = "idle-barely" { idle: Volts, needed: Volts, worst: Volts }
    IdleTooLow = "idle-too-low" { idle: Volts, needed: Volts }
    IdleNoBias = "idle-no-bias" {}
    IdleShorted = "idle-shorted" {}
    IdleSum = "idle-sum" { supply: Volts, series: Ohms, load: Ohms }
    IdleOpen = "idle-open" {}
    IdleLargest = "idle-largest" { largest: Ohms }
    IdleByItself = "idle-by-itself" {}
    IdleSmaller = "idle-smaller" { largest: Ohms }
    IdleTooManyLoads = "idle-too-many-loads" { loads: u32 }
    IdleOnePlace = "idle-one-place" {}
    PairReads = "pair-reads" { reading: Ohms }
    PairReadsOpen = "pair-reads-open" {}
    LineIsPlus = "line-is-plus" { plus: Named, difference: Volts }
    LineUnclear = "line-unclear" { difference: Volts, needed: Volts }
    LineBorder = "line-border" { plus: Named, difference: Volts, error: Volts }
    LineLetters = "line-letters" {}
    LineSwapOnce = "line-swap-once" {}
    LineQuiet = "line-quiet" {}
    // The bank's own numbers, and what each rests on.
    BasisNameplate = "basis-nameplate" {}
    BasisLeastInString = "basis-least-in-string" {}
    BasisEnergy = "basis-energy" {}
    BasisPresent = "basis-present" {}
    BasisHeld = "basis-held" {}
    BasisRoom = "basis-room" {}
    BasisSocWeighted = "basis-soc-weighted" {}
    BasisSocUsable = "basis-soc-usable" {}
    BasisSocNameplate = "basis-soc-nameplate" {}
    BasisSocCautious = "basis-soc-cautious" {}
    BasisHealth = "basis-health" {}
    BasisHealthCautious = "basis-health-cautious" {}
    BasisVoltageMean = "basis-voltage-mean" {}
    BasisVoltageSum = "basis-voltage-sum" {}
    BasisSpread = "basis-spread" {}
    BasisCurrent = "basis-current" {}
    BasisPower = "basis-power" {}
    BasisWhere = "basis-where" { at: Stop }
    BasisCellSpread = "basis-cell-spread" {}
    BasisAnswering = "basis-answering" { answering: u32, expected: u32 }
    BasisLimitSum = "basis-limit-sum" {}
    BasisLimitMissing = "basis-limit-missing" {}
    BasisLimitShared = "basis-limit-shared" {}
    BasisVoltageLimit = "basis-voltage-limit" {}
    BasisVoltageLimitCautious = "basis-voltage-limit-cautious" {}
    BasisToFloor = "basis-to-floor" {}
    BasisToFull = "basis-to-full" {}
    StringsUnlikeCells = "strings-unlike-cells" { least: u32, most: u32 }
    StringsNotJudged = "strings-not-judged" { count: u32, who: String }
    ChargeHeldOffBy = "charge-held-off-by" { count: u32, who: String }
    DischargeHeldOffBy = "discharge-held-off-by" { count: u32, who: String }

    // The display against the bank's numbers.
    ShownNear = "shown-near" { shown: Figure, expected: Figure, error: Figure }
    ShownIsNot = "shown-is-not" { shown: Figure, expected: Figure }
    ShownOff = "shown-off" { shown: Figure, expected: Figure, error: Figure }
    ShownUnknown = "shown-unknown" { shown: Figure }
    ShownProduct = "shown-product" { shown: Figure, voltage: Figure, current: Figure, expected: Figure }
    ShownWithin = "shown-within" { error: Figure }
    CauseNothing = "cause-nothing" {}
    CauseSilent = "cause-silent" {}
    CauseSilentAt = "cause-silent-at" { at: Stop }
    CauseProtection = "cause-protection" {}
    CauseProtectionAt = "cause-protection-at" { at: Stop }
    CauseNameplate = "cause-nameplate" {}
    CauseStrings = "cause-strings" { strings: u32 }
    CauseSeriesAdded = "cause-series-added" {}
    CauseOtherBasis = "cause-other-basis" {}
    CauseOneModule = "cause-one-module" {}
    CauseOtherDevice = "cause-other-device" {}
    CauseStale = "cause-stale" {}
    CauseSign = "cause-sign" {}
    CauseUncalibrated = "cause-uncalibrated" {}
    TellRead = "tell-read" {}
    TellSilent = "tell-silent" {}
    TellProtection = "tell-protection" {}
    TellBasis = "tell-basis" {}
    TellDevice = "tell-device" {}
    TellStale = "tell-stale" {}

    // What the bank asks of its chargers.
    AskHeldOff = "ask-held-off" { asked: Amperes }
    AskForMissing = "ask-for-missing" { asked: Amperes, limit: Amperes, whole: Amperes }
    AskOverSum = "ask-over-sum" { asked: Amperes, limit: Amperes }
    AskOverShared = "ask-over-shared" { asked: Amperes, limit: Amperes }
    AskCurrentFits = "ask-current-fits" { asked: Amperes, limit: Amperes }
    AskCurrentUnknown = "ask-current-unknown" { asked: Amperes }
    AskTooCold = "ask-too-cold" { at: Stop, reading: Celsius, limit: Celsius }
    AskNearlyCold = "ask-nearly-cold" { at: Stop, reading: Celsius, limit: Celsius }
    AskTooHot = "ask-too-hot" { at: Stop, reading: Celsius, limit: Celsius }
    AskVoltsOver = "ask-volts-over" { asked: Volts, limit: Volts }
    AskVoltsOverCells = "ask-volts-over-cells" { asked: Volts, cells: u32, limit: Volts }
    AskVoltsOverWeakest = "ask-volts-over-weakest" { asked: Volts, limit: Volts }
    AskVoltsLow = "ask-volts-low" { asked: Volts, least: Volts }
    AskVoltsFit = "ask-volts-fit" { asked: Volts, limit: Volts }
    AskVoltsUnknown = "ask-volts-unknown" { asked: Volts }
    AskSetChargers = "ask-set-chargers" {}
    AskSumCurrent = "ask-sum-current" { limit: Amperes }
    AskSumShared = "ask-sum-shared" { limit: Amperes }
    AskSumMissing = "ask-sum-missing" { limit: Amperes, at: Stop }
    AskSumVolts = "ask-sum-volts" { limit: Volts }
    AskFullNow = "ask-full-now" { hours: Hours }
    AskFullAsked = "ask-full-asked" { current: Amperes, hours: Hours }

    // Rest voltage.
    RestTells = "rest-tells" { low: Percent, high: Percent }
    RestSaysLittle = "rest-says-little" { low: Percent, high: Percent }
    RestBelow = "rest-below" { voltage: Volts, cells: u32, empty: Volts }
    RestAbove = "rest-above" { voltage: Volts, cells: u32, full: Volts }
    RestEachCell = "rest-each-cell" { cell: Volts, error: Volts, low: Percent, high: Percent }
    RestOtherCells = "rest-other-cells" { tolerance: Volts, low: Percent, high: Percent }
    RestCountCharge = "rest-count-charge" {}
    RestCheckCells = "rest-check-cells" {}
    RestWait = "rest-wait" {}

    // May modules be joined?
    JoinTooFew = "join-too-few" {}
    JoinVoltageNotKnown = "join-voltage-not-known" {}
    JoinCellsNotKnown = "join-cells-not-known" {}
    JoinSocNotKnown = "join-soc-not-known" {}
    JoinVoltagesApart = "join-voltages-apart" { gap: Volts, limit: Volts }
    JoinSocApart = "join-soc-apart" { gap: Percent, limit: Percent }
    JoinSocNearlyApart = "join-soc-nearly-apart" { gap: Percent, limit: Percent }
    JoinAllClose = "join-all-close" { gap: Volts, apart: Percent }
    JoinAllFull = "join-all-full" { lowest: Percent }
    JoinNotAllFull = "join-not-all-full" { lowest: Percent }
    JoinLimit = "join-limit" { each: Volts, cells: u32, limit: Volts }
    JoinEqualising = "join-equalising" { current: Amperes }
    JoinNoLoop = "join-no-loop" {}
    JoinChargeEach = "join-charge-each" {}
    JoinBothTests = "join-both-tests" {}

    // How parallel modules share a current.
    ShareEven = "share-even" { most: Percent }
    ShareUneven = "share-uneven" { most: Percent, at: Stop }
    ShareOverLimit = "share-over-limit" { at: Stop, current: Amperes, limit: Amperes }
    ShareNoAnswer = "share-no-answer" {}
    ShareReaches = "share-reaches" { at: Stop, limit: Amperes, bank: Amperes, even: Amperes }
    ShareRewire = "share-rewire" {}
    ShareSum = "share-sum" { modules: u32, inner: Ohms, link: Ohms }
    ShareSumBars = "share-sum-bars" { modules: u32, inner: Ohms }
    ShareLink = "share-link" { length: Metres, area: SquareMillimetres, ohms: Ohms }
    ShareBand = "share-band" {}
    OddNone = "odd-none" {}
    OddFound = "odd-found" { at: Stop, current: Amperes, expected: Amperes }
    OddEither = "odd-either" {}
    OddNoCurrent = "odd-no-current" {}
    OddResistance = "odd-resistance" { at: Stop, ohms: Ohms, described: Ohms }
    OddJoint = "odd-joint" { at: Stop }
    OddOtherJoint = "odd-other-joint" {}
    OddModule = "odd-module" { at: Stop }
    OddMillivolts = "odd-millivolts" {}
    OddTap = "odd-tap" {}

    // A reading of a checklist.
    ItemInside = "item-inside" { reading: Figure, low: Figure, high: Figure }
    ItemUpTo = "item-up-to" { reading: Figure, high: Figure }
    ItemFrom = "item-from" { reading: Figure, low: Figure }
    ItemKept = "item-kept" { reading: Figure }
    ItemStraddles = "item-straddles" { reading: Figure, limit: Figure, error: Figure }
    ItemNear = "item-near" { reading: Figure, limit: Figure, outer: Figure }
    ItemBeyond = "item-beyond" { reading: Figure, limit: Figure }
    ItemOpenPath = "item-open-path" {}
    ItemNeedsShownVoltage = "item-needs-shown-voltage" {}

    // Power: cables.
    CableDropHolds = "cable-drop-holds" { drop: Volts, share: Fraction, limit: Percent }
    CableDropOver = "cable-drop-over" { drop: Volts, share: Fraction, limit: Percent }
    CableRatingHolds = "cable-rating-holds" { current: Amperes, rating: Amperes }
    CableRatingOver = "cable-rating-over" { current: Amperes, rating: Amperes }
    CableRatingUnknown = "cable-rating-unknown" {}
    CableCharger = "cable-charger" { drop: Volts, cells: u32, each: Volts }
    CableTake = "cable-take" { size: String }
    CableTakeForDrop = "cable-take-for-drop" { size: String }
    CableNoneTakes = "cable-none-takes" {}
    CableAskMaker = "cable-ask-maker" {}
    CableCopper = "cable-copper" { size: String, temperature: Celsius, per_metre: OhmsPerMetre }
    CableCopperGauge = "cable-copper-gauge" { size: String, area: SquareMillimetres, temperature: Celsius, per_metre: OhmsPerMetre }
    CableLoop = "cable-loop" { length: Metres, resistance: Ohms }
    CableDropSum = "cable-drop-sum" { current: Amperes, resistance: Ohms, drop: Volts }
    CableShareSum = "cable-share-sum" { drop: Volts, system: Volts, share: Fraction }
    CableHeat = "cable-heat" { heat: Watts }
    CableRatingSum = "cable-rating-sum" { table: Amperes, column: String, engine: Fraction, bundle: Fraction, rating: Amperes }

    // Power: short circuit.
    ShortSource = "short-source" { parallel: u32, inner: Ohms, leads: Ohms, source: Ohms }
    ShortAtBus = "short-at-bus" { emf: Volts, source: Ohms, current: FaultAmperes }
    ShortAtEnd = "short-at-end" { path: Ohms, current: FaultAmperes }
    ShortIntoOne = "short-into-one" { current: FaultAmperes, each: FaultAmperes }

    // Power: protection.
    ProtectNotKnown = "protect-not-known" { what: Named }
    ProtectPartly = "protect-partly" {}
    ProtectNoWindow = "protect-no-window" { least: Amperes, most: Amperes }
    ProtectTooSmall = "protect-too-small" { rating: Amperes, least: Amperes }
    ProtectTooLarge = "protect-too-large" { rating: Amperes, most: Amperes }
    ProtectHalfMore = "protect-half-more" { rating: Amperes, most: Amperes }
    ProtectSizeHolds = "protect-size-holds" { rating: Amperes, least: Amperes, most: Amperes }
    ProtectTooFar = "protect-too-far" { distance: Metres, most: Metres }
    ProtectPostException = "protect-post-exception" { distance: Metres, most: Metres }
    ProtectNear = "protect-near" { distance: Metres, most: Metres }
    ProtectVoltsLow = "protect-volts-low" { printed: Volts, highest: Volts }
    ProtectVoltsHold = "protect-volts-hold" { printed: Volts, highest: Volts }
    ProtectInterruptLow = "protect-interrupt-low" { printed: FaultAmperes, current: FaultAmperes }
    ProtectInterruptHolds = "protect-interrupt-holds" { printed: FaultAmperes, current: FaultAmperes }
    ProtectEachHas = "protect-each-has" { parallel: u32 }
    ProtectEachHasNot = "protect-each-has-not" { parallel: u32 }
    ProtectHeatOver = "protect-heat-over" { through: SquareAmpereSeconds, borne: SquareAmpereSeconds }
    ProtectHeatHolds = "protect-heat-holds" { through: SquareAmpereSeconds, borne: SquareAmpereSeconds }
    ProtectTake = "protect-take" { least: Amperes, most: Amperes }
    ProtectLargeBank = "protect-large-bank" {}
    ProtectLeast = "protect-least" { load: Amperes }
    ProtectLeastLasting = "protect-least-lasting" { load: Amperes, least: Amperes }
    ProtectHeatSum = "protect-heat-sum" { area: SquareMillimetres, clearing: Seconds }

    // Power: inrush.
    InrushOver = "inrush-over" { peak: FaultAmperes, limit: Amperes }
    InrushWithin = "inrush-within" { peak: FaultAmperes, limit: Amperes }
    InrushNoLimit = "inrush-no-limit" { peak: FaultAmperes }
    InrushSecondNoLimit = "inrush-second-no-limit" { gap: Volts, second: FaultAmperes }
    InrushSecondOver = "inrush-second-over" { gap: Volts, second: FaultAmperes, limit: Amperes }
    InrushSecondHolds = "inrush-second-holds" { gap: Volts, second: FaultAmperes, limit: Amperes }
    InrushFirstOver = "inrush-first-over" { first: FaultAmperes, limit: Amperes }
    InrushTakeResistor = "inrush-take-resistor" {}
    InrushWait = "inrush-wait" { time: Seconds }
    InrushUsual = "inrush-usual" {}
    InrushCarries = "inrush-carries" { power: Watts, energy: Joules }
    InrushPeak = "inrush-peak" { voltage: Volts, path: Ohms, peak: FaultAmperes }
    InrushEnergy = "inrush-energy" { capacitance: Farads, voltage: Volts, energy: Joules }
    InrushThrough = "inrush-through" { through: SquareAmpereSeconds }
    InrushFirst = "inrush-first" { resistor: Ohms, first: FaultAmperes, power: Watts }
    InrushTime = "inrush-time" { resistor: Ohms, capacitance: Farads, time: Seconds }
    InrushGap = "inrush-gap" { waited: Seconds, gap: Volts, left: Fraction }

    // Power: joints.
    JointGood = "joint-good" { resistance: Ohms, good: Ohms, heat: Watts }
    JointOverGood = "joint-over-good" { resistance: Ohms, good: Ohms, heat: Watts }
    JointStraddles = "joint-straddles" { resistance: Ohms, good: Ohms, error: Ohms }
    JointOdd = "joint-odd" { resistance: Ohms, usual: Ohms, times: Ratio }
    JointUnlike = "joint-unlike" { resistance: Ohms, usual: Ohms }
    JointLike = "joint-like" { usual: Ohms }
    JointMoreCurrent = "joint-more-current" {}
    JointIsolateFirst = "joint-isolate-first" {}
    JointRemake = "joint-remake" {}
    JointCompare = "joint-compare" {}
    JointSum = "joint-sum" { voltage: Volts, current: Amperes, resistance: Ohms }
    JointHeat = "joint-heat" { voltage: Volts, current: Amperes, heat: Watts }
    JointMeter = "joint-meter" { error: Ohms }

    // Power: what chargers are set to.
    ChargerAbsorptionOver = "charger-absorption-over" { volts: Volts, most: Volts, cell: Volts }
    ChargerAbsorptionHigh = "charger-absorption-high" { volts: Volts, cell: Volts }
    ChargerAbsorptionGentle = "charger-absorption-gentle" { volts: Volts, cell: Volts }
    ChargerAbsorptionLow = "charger-absorption-low" { volts: Volts, cell: Volts }
    ChargerAbsorptionHolds = "charger-absorption-holds" { volts: Volts, cell: Volts, most: Volts }
    ChargerFloatOver = "charger-float-over" { volts: Volts, cell: Volts }
    ChargerFloatHigh = "charger-float-high" { volts: Volts, cell: Volts }
    ChargerFloatLow = "charger-float-low" { volts: Volts, cell: Volts }
    ChargerFloatHolds = "charger-float-holds" { volts: Volts, cell: Volts }
    ChargerRestartHigh = "charger-restart-high" { volts: Volts, cell: Volts }
    ChargerRestartLow = "charger-restart-low" { volts: Volts, cell: Volts, soc: Percent }
    ChargerRestartHolds = "charger-restart-holds" { volts: Volts, cell: Volts, soc: Percent }
    ChargerCompensationNone = "charger-compensation-none" {}
    ChargerCompensationSome = "charger-compensation-some" { by: VoltsPerKelvin }
    ChargerCompensationOver = "charger-compensation-over" { by: VoltsPerKelvin, at: Celsius, volts: Volts, cell: Volts, most: Volts }
    ChargerCompensationMoves = "charger-compensation-moves" { by: VoltsPerKelvin, cold: Volts, warm: Volts, cell: Volts, cell_warm: Volts }
    ChargerEqualiseOff = "charger-equalise-off" {}
    ChargerEqualiseOn = "charger-equalise-on" {}
    ChargerEqualiseVolts = "charger-equalise-volts" { volts: Volts, cell: Volts }
    ChargerColdNone = "charger-cold-none" { coldest: Celsius }
    ChargerColdUnsaid = "charger-cold-unsaid" { coldest: Celsius }
    ChargerColdLate = "charger-cold-late" { stop: Celsius, coldest: Celsius }
    ChargerColdEarly = "charger-cold-early" { stop: Celsius, coldest: Celsius }
    ChargerColdHolds = "charger-cold-holds" { stop: Celsius, coldest: Celsius }
    ChargerCurrentOver = "charger-current-over" { current: Amperes, limit: Amperes }
    ChargerCurrentHigh = "charger-current-high" { current: Amperes, share: Fraction }
    ChargerCurrentHolds = "charger-current-holds" { current: Amperes, limit: Amperes }
    ChargerCurrentNoLimit = "charger-current-no-limit" { current: Amperes, share: Fraction }
    ChargerTailHigh = "charger-tail-high" { tail: Amperes, share: Fraction }
    ChargerTailLow = "charger-tail-low" { tail: Amperes, share: Fraction }
    ChargerTailHolds = "charger-tail-holds" { tail: Amperes, share: Fraction }
    ChargerTimeLong = "charger-time-long" { hours: Hours }
    ChargerTimeHolds = "charger-time-holds" { hours: Hours }
    ChargerMakerFirst = "charger-maker-first" {}
    ChargerEachCell = "charger-each-cell" { volts: Volts, cells: u32, cell: Volts }
    ChargerMostMaker = "charger-most-maker" { most: Volts, cells: u32 }
    ChargerMostCells = "charger-most-cells" { most: Volts, cells: u32 }
    ChargerCompensationSum = "charger-compensation-sum" { absorption: Volts, by: VoltsPerKelvin, at: Celsius, volts: Volts }

    // Power: chargers that are steered, alternators, all sources together.
    FollowsUnknown = "follows-unknown" {}
    FollowsCurrent = "follows-current" { given: Amperes, asked: Amperes }
    FollowsNotCurrent = "follows-not-current" { given: Amperes, asked: Amperes }
    FollowsVoltage = "follows-voltage" { given: Volts, asked: Volts }
    FollowsNotVoltage = "follows-not-voltage" { given: Volts, asked: Volts }
    FollowsTest = "follows-test" {}
    FollowsFind = "follows-find" {}
    FollowsWithin = "follows-within" {}
    AlternatorUnknown = "alternator-unknown" {}
    AlternatorNothing = "alternator-nothing" {}
    AlternatorConverter = "alternator-converter" {}
    AlternatorTold = "alternator-told" { warning: Seconds }
    AlternatorSuppressed = "alternator-suppressed" {}
    AlternatorPulse = "alternator-pulse" { low: Volts, high: Volts }
    AlternatorTry = "alternator-try" {}
    AlternatorRemedies = "alternator-remedies" { warning: Seconds }
    AlternatorHeat = "alternator-heat" {}
    AlternatorWarning = "alternator-warning" { warning: Seconds }
    SourcesOver = "sources-over" { sum: Amperes, limit: Amperes }
    SourcesOverMissing = "sources-over-missing" { sum: Amperes, left: Amperes }
    SourcesSteeredMust = "sources-steered-must" { sum: Amperes, left: Amperes }
    SourcesHold = "sources-hold" { sum: Amperes, left: Amperes }
    SourcesUnknown = "sources-unknown" {}
    SourcesSum = "sources-sum" { count: u32, sum: Amperes, unsteered: Amperes }
    SourcesLimits = "sources-limits" { limit: Amperes, left: Amperes }
    SourcesLower = "sources-lower" { left: Amperes }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_unique() {
        for (index, (key, _)) in Because::ALL.iter().enumerate() {
            assert!(!Because::ALL[..index].iter().any(|(other, _)| other == key), "{key} twice");
        }
    }

    #[test]
    fn args_carry_their_names() {
        let because = Because::EndMissing { end: End::Bank };
        assert_eq!(because.args(), vec![("end", Arg::End(End::Bank))]);
    }
}
