//! A draft with all its equipment's figures, to the wire and back.

use super::Broken;
use super::decimal::Decimal;
use super::few::Few;
use super::numbers::{self, LEAD_USES, NUMBERINGS, OFFS, PORT_USES, WAKES};
use super::v1;
use super::words::{Collected, Texts};
use crate::core::site::Draft;
use crate::core::site::figures::{
    ChargerFigures, DataSocket, LeadFigures, ModuleFigures, MonitorFigures, PortFigures, Profile, TerminatorFigures,
};
use crate::core::units::Quantity;

const ISOLATED: u8 = 1;
const BUILT_IN: u8 = 2;
const STEERED: u8 = 1;

fn decimal<Q: Quantity>(quantity: Q) -> Decimal {
    Decimal(quantity.get())
}

/// A figure, if it is one that its quantity may take.
fn figure<Q: Quantity>(Decimal(value): Decimal) -> Result<Q, Broken> {
    Q::new(value).map_err(|_| Broken::Damaged)
}

/// Switches of which only some exist.
fn switches(all: u8, known: u8) -> Result<u8, Broken> {
    if all & !known == 0 { Ok(all) } else { Err(Broken::Damaged) }
}

fn of<T: Copy>(table: &[(u8, T)], number: u8) -> Result<T, Broken> {
    numbers::of(table, number).ok_or(Broken::Damaged)
}

/// One of a table that counts from 1; 0 where nothing is said.
fn some_of<T: Copy>(table: &[(u8, T)], number: u8) -> Result<Option<T>, Broken> {
    if number == 0 { Ok(None) } else { of(table, number).map(Some) }
}

fn all<W, T, const MOST: usize>(
    wire: Few<W, MOST>,
    texts: &mut Texts,
    read: impl Fn(W, &mut Texts) -> Result<T, Broken>,
) -> Result<Vec<T>, Broken> {
    wire.0.into_iter().map(|one| read(one, texts)).collect()
}

/// A count that may be missing, and one that is never too great: a store may hold any.
fn count_to(count: Option<u32>) -> u64 {
    count.map_or(0, |count| u64::from(count) + 1)
}

fn count_from(number: u64) -> Result<Option<u32>, Broken> {
    number.checked_sub(1).map(u32::try_from).transpose().map_err(|_| Broken::Damaged)
}

fn said_to(said: Option<bool>) -> u8 {
    said.map_or(0, |yes| 1 + u8::from(yes))
}

pub fn to_wire(site: &Draft, texts: &mut Collected) -> v1::Site {
    let Draft {
        name,
        module,
        series,
        parallel,
        monitor,
        port,
        link_lead,
        link_length,
        bus_lead,
        bus_length,
        adapter,
        terminator,
        monitor_terminator,
        terminated_at_bank,
        terminated_at_monitor,
        chargers,
    } = site;
    v1::Site {
        name: texts.word(name),
        module: module.as_ref().map(|module| module_to(module, texts)),
        series: count_to(*series),
        parallel: count_to(*parallel),
        monitor: monitor.as_ref().map(|monitor| monitor_to(monitor, texts)),
        port: port.as_ref().map(|port| texts.word(port)),
        link_lead: link_lead.as_ref().map(|lead| lead_to(lead, texts)),
        link_length: link_length.map(decimal),
        bus_lead: bus_lead.as_ref().map(|lead| lead_to(lead, texts)),
        bus_length: bus_length.map(decimal),
        adapter: adapter.as_ref().map(|lead| lead_to(lead, texts)),
        terminator: terminator.as_ref().map(|terminator| terminator_to(terminator, texts)),
        monitor_terminator: monitor_terminator.as_ref().map(|terminator| terminator_to(terminator, texts)),
        terminated: said_to(*terminated_at_bank) + 3 * said_to(*terminated_at_monitor),
        chargers: chargers.iter().map(|charger| charger_to(charger, texts)).collect(),
    }
}

/// Is there more in it than [`super::open`] takes?
pub fn is_over(site: &v1::Site) -> bool {
    let module = site.module.as_ref().is_some_and(|module| module.speaks.is_over());
    let port = |port: &v1::Port| port.speaks.is_over();
    let monitor = site.monitor.as_ref().is_some_and(|m| m.ports.is_over() || m.ports.0.iter().any(port));
    let over = |lead: &v1::Lead| lead.lengths.is_over() || lead.wires.is_over();
    let lead = [&site.link_lead, &site.bus_lead, &site.adapter].into_iter().flatten().any(over);
    module || monitor || lead || site.chargers.is_over()
}

pub fn from_wire(wire: v1::Site, texts: &mut Texts) -> Result<Draft, Broken> {
    let said = |number: u8| (number > 0).then_some(number == 2);
    if wire.terminated > 8 {
        return Err(Broken::Damaged);
    }
    Ok(Draft {
        name: texts.word(wire.name)?,
        module: wire.module.map(|module| module_from(module, texts)).transpose()?,
        series: count_from(wire.series)?,
        parallel: count_from(wire.parallel)?,
        monitor: wire.monitor.map(|monitor| monitor_from(monitor, texts)).transpose()?,
        port: wire.port.map(|port| texts.word(port)).transpose()?,
        link_lead: wire.link_lead.map(|lead| lead_from(lead, texts)).transpose()?,
        link_length: wire.link_length.map(figure).transpose()?,
        bus_lead: wire.bus_lead.map(|lead| lead_from(lead, texts)).transpose()?,
        bus_length: wire.bus_length.map(figure).transpose()?,
        adapter: wire.adapter.map(|lead| lead_from(lead, texts)).transpose()?,
        terminator: wire.terminator.map(|terminator| terminator_from(terminator, texts)).transpose()?,
        monitor_terminator: wire.monitor_terminator.map(|it| terminator_from(it, texts)).transpose()?,
        terminated_at_bank: said(wire.terminated % 3),
        terminated_at_monitor: said(wire.terminated / 3),
        chargers: all(wire.chargers, texts, charger_from)?,
    })
}

fn profiles_to(speaks: &[Profile], texts: &mut Collected) -> Few<v1::Profile, { v1::MOST_PARTS }> {
    let one = |profile: &Profile| v1::Profile {
        protocol: texts.word(&profile.protocol),
        bit_rate: decimal(profile.bit_rate),
    };
    speaks.iter().map(one).collect()
}

fn profile_from(wire: v1::Profile, texts: &mut Texts) -> Result<Profile, Broken> {
    Ok(Profile { protocol: texts.word(wire.protocol)?, bit_rate: figure(wire.bit_rate)? })
}

fn module_to(module: &ModuleFigures, texts: &mut Collected) -> v1::Module {
    let DataSocket { connector, high_pin, low_pin, reference_pin, isolated, built_in_terminator } = &module.data;
    v1::Module {
        key: texts.word(&module.key),
        maker: texts.word(&module.maker),
        model: texts.word(&module.model),
        cells_in_series: module.cells_in_series,
        figures: [
            decimal(module.nominal),
            decimal(module.capacity),
            decimal(module.charge_limit),
            decimal(module.discharge_limit),
            decimal(module.charge_voltage_limit),
            decimal(module.discharge_voltage_limit),
            decimal(module.coldest_charge),
            decimal(module.hottest_charge),
            decimal(module.resistance),
            decimal(module.wake_time),
        ],
        most_in_series: module.most_in_series,
        most_in_parallel: module.most_in_parallel,
        wake: numbers::to(WAKES, module.wake),
        off: module.off.map_or(0, |off| numbers::to(OFFS, off)),
        numbering: module.numbering.map_or(0, |numbering| numbers::to(NUMBERINGS, numbering)),
        more: [module.off_time.map(decimal), module.longest_link.map(decimal)],
        socket: v1::Socket { connector: texts.word(connector), pins: [*high_pin, *low_pin, *reference_pin] },
        switches: u8::from(*isolated) * ISOLATED + u8::from(*built_in_terminator) * BUILT_IN,
        speaks: profiles_to(&module.speaks, texts),
    }
}

fn module_from(wire: v1::Module, texts: &mut Texts) -> Result<ModuleFigures, Broken> {
    let [
        nominal,
        capacity,
        charge,
        discharge,
        charge_voltage,
        discharge_voltage,
        coldest,
        hottest,
        resistance,
        wake_time,
    ] = wire.figures;
    let switches = switches(wire.switches, ISOLATED | BUILT_IN)?;
    let [off_time, longest_link] = wire.more;
    let [high_pin, low_pin, reference_pin] = wire.socket.pins;
    Ok(ModuleFigures {
        key: texts.word(wire.key)?,
        maker: texts.word(wire.maker)?,
        model: texts.word(wire.model)?,
        cells_in_series: wire.cells_in_series,
        nominal: figure(nominal)?,
        capacity: figure(capacity)?,
        charge_limit: figure(charge)?,
        discharge_limit: figure(discharge)?,
        charge_voltage_limit: figure(charge_voltage)?,
        discharge_voltage_limit: figure(discharge_voltage)?,
        coldest_charge: figure(coldest)?,
        hottest_charge: figure(hottest)?,
        resistance: figure(resistance)?,
        most_in_series: wire.most_in_series,
        most_in_parallel: wire.most_in_parallel,
        wake: of(WAKES, wire.wake)?,
        off: some_of(OFFS, wire.off)?,
        off_time: off_time.map(figure).transpose()?,
        numbering: some_of(NUMBERINGS, wire.numbering)?,
        longest_link: longest_link.map(figure).transpose()?,
        wake_time: figure(wake_time)?,
        data: DataSocket {
            connector: texts.word(wire.socket.connector)?,
            high_pin,
            low_pin,
            reference_pin,
            isolated: switches & ISOLATED != 0,
            built_in_terminator: switches & BUILT_IN != 0,
        },
        speaks: all(wire.speaks, texts, profile_from)?,
    })
}

fn port_to(port: &PortFigures, texts: &mut Collected) -> v1::Port {
    v1::Port {
        key: texts.word(&port.key),
        label: texts.word(&port.label),
        usage: numbers::to(PORT_USES, port.usage),
        socket: v1::Socket {
            connector: texts.word(&port.connector),
            pins: [port.high_pin, port.low_pin, port.reference_pin],
        },
        sockets: port.sockets,
        switches: u8::from(port.built_in_terminator) * BUILT_IN,
        speaks: profiles_to(&port.speaks, texts),
    }
}

fn port_from(wire: v1::Port, texts: &mut Texts) -> Result<PortFigures, Broken> {
    let [high_pin, low_pin, reference_pin] = wire.socket.pins;
    Ok(PortFigures {
        key: texts.word(wire.key)?,
        label: texts.word(wire.label)?,
        usage: of(PORT_USES, wire.usage)?,
        connector: texts.word(wire.socket.connector)?,
        high_pin,
        low_pin,
        reference_pin,
        sockets: wire.sockets,
        built_in_terminator: switches(wire.switches, BUILT_IN)? != 0,
        speaks: all(wire.speaks, texts, profile_from)?,
    })
}

fn monitor_to(monitor: &MonitorFigures, texts: &mut Collected) -> v1::Monitor {
    v1::Monitor {
        key: texts.word(&monitor.key),
        maker: texts.word(&monitor.maker),
        model: texts.word(&monitor.model),
        source_menu: texts.word(&monitor.source_menu),
        ports: monitor.ports.iter().map(|port| port_to(port, texts)).collect(),
    }
}

fn monitor_from(wire: v1::Monitor, texts: &mut Texts) -> Result<MonitorFigures, Broken> {
    Ok(MonitorFigures {
        key: texts.word(wire.key)?,
        maker: texts.word(wire.maker)?,
        model: texts.word(wire.model)?,
        source_menu: texts.word(wire.source_menu)?,
        ports: all(wire.ports, texts, port_from)?,
    })
}

fn lead_to(lead: &LeadFigures, texts: &mut Collected) -> v1::Lead {
    v1::Lead {
        key: texts.word(&lead.key),
        name: texts.word(&lead.name),
        usage: numbers::to(LEAD_USES, lead.usage),
        ends: [texts.word(&lead.ends[0]), texts.word(&lead.ends[1])],
        wires: lead.wires.iter().copied().collect(),
        figures: [decimal(lead.conductor), decimal(lead.contacts)],
        lengths: lead.lengths.iter().map(|length| decimal(*length)).collect(),
    }
}

fn lead_from(wire: v1::Lead, texts: &mut Texts) -> Result<LeadFigures, Broken> {
    let [conductor, contacts] = wire.figures;
    Ok(LeadFigures {
        key: texts.word(wire.key)?,
        name: texts.word(wire.name)?,
        usage: of(LEAD_USES, wire.usage)?,
        ends: [texts.word(wire.ends[0])?, texts.word(wire.ends[1])?],
        wires: wire.wires.0,
        conductor: figure(conductor)?,
        contacts: figure(contacts)?,
        lengths: all(wire.lengths, texts, |length, _| figure(length))?,
    })
}

fn terminator_to(terminator: &TerminatorFigures, texts: &mut Collected) -> v1::Terminator {
    v1::Terminator {
        key: texts.word(&terminator.key),
        name: texts.word(&terminator.name),
        connector: texts.word(&terminator.connector),
        pins: terminator.pins,
        figures: [decimal(terminator.resistance), decimal(terminator.tolerance)],
    }
}

fn terminator_from(wire: v1::Terminator, texts: &mut Texts) -> Result<TerminatorFigures, Broken> {
    let [resistance, tolerance] = wire.figures;
    Ok(TerminatorFigures {
        key: texts.word(wire.key)?,
        name: texts.word(wire.name)?,
        connector: texts.word(wire.connector)?,
        pins: wire.pins,
        resistance: figure(resistance)?,
        tolerance: figure(tolerance)?,
    })
}

fn charger_to(charger: &ChargerFigures, texts: &mut Collected) -> v1::Charger {
    v1::Charger {
        key: texts.word(&charger.key),
        name: texts.word(&charger.name),
        switches: u8::from(charger.steered) * STEERED,
        figures: [decimal(charger.current), decimal(charger.absorption), decimal(charger.float)],
    }
}

fn charger_from(wire: v1::Charger, texts: &mut Texts) -> Result<ChargerFigures, Broken> {
    let [current, absorption, float] = wire.figures;
    Ok(ChargerFigures {
        key: texts.word(wire.key)?,
        name: texts.word(wire.name)?,
        steered: switches(wire.switches, STEERED)? != 0,
        current: figure(current)?,
        absorption: figure(absorption)?,
        float: figure(float)?,
    })
}
