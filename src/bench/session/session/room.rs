//! Temperature, humidity and zero: what is typed or shown, held against its limits.

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::{Recorded, Series};
use leverarm_metrology::sequence::{Moment, Step};
use rust_decimal::Decimal;

use super::ask::{Doubt, Question};
use super::{Effect, Session};
use crate::digits;
use crate::entry::{Did, Taking};
use crate::text::{self, Line};
use crate::view::Tone;

type Now = DateTime<FixedOffset>;

impl Session {
    pub(super) fn submit_temperature(&mut self, moment: Moment, mut line: Line) {
        let read = text::number_with(&line.typed, &["°C", "C", "degC"]);
        let read = read.and_then(|temperature| {
            let is_a_room = (Decimal::from(-30)..=Decimal::from(50)).contains(&temperature);
            is_a_room.then_some(temperature).ok_or_else(|| format!("nobody calibrates at {temperature} °C"))
        });
        self.question = Some(match read {
            Ok(temperature) => Question::Humidity { moment, temperature, line: Line::default() },
            Err(fault) => {
                line.refuse(fault);
                Question::Temperature { moment, line }
            }
        });
    }

    pub(super) fn submit_humidity(
        &mut self,
        moment: Moment,
        temperature: Decimal,
        mut line: Line,
        now: Now,
        out: &mut Vec<Effect>,
    ) {
        let read = text::number_with(&line.typed, &["%", "%RH", "%rF"]);
        let read = read.and_then(|humidity| {
            let can_be = (Decimal::ZERO..=Decimal::from(100)).contains(&humidity);
            can_be.then_some(humidity).ok_or_else(|| format!("a relative humidity of {humidity} % cannot be"))
        });
        match read {
            Ok(humidity) => {
                let outside = self.outside(moment, temperature, humidity);
                let doubt = Doubt::Room { moment, temperature, humidity };
                if outside.is_empty() {
                    self.note_room(moment, temperature, humidity, outside, None, now, out);
                } else {
                    self.question = Some(Question::Doubt { doubt, outside });
                }
            }
            Err(fault) => {
                line.refuse(fault);
                self.question = Some(Question::Humidity { moment, temperature, line });
            }
        }
    }

    /// What of the surroundings is outside the rulebook's limits, with the numbers of both sides.
    fn outside(&self, moment: Moment, temperature: Decimal, humidity: Decimal) -> Vec<String> {
        let room = &self.plan.room;
        let number = |decimal: Decimal| decimal.to_string().parse::<f64>().unwrap_or(f64::NAN);
        let (celsius, percent) = (number(temperature), number(humidity));
        let mut outside = Vec::new();
        let (low, high) = (&room.temperature_min, &room.temperature_max);
        if !(celsius >= low.value && celsius <= high.value) {
            let side = if celsius < low.value { "below" } else { "above" };
            outside.push(format!(
                "{temperature} °C is {side} the {} to {} of the rulebook",
                low.words("°C"),
                high.words("°C")
            ));
        }
        let is_dry = percent <= room.humidity_max.value;
        if !is_dry {
            outside
                .push(format!("{humidity} % is above the {} of the rulebook", room.humidity_max.words("%")));
        }
        let start = self.record.start.as_ref().filter(|_| moment == Moment::End);
        let start = start.and_then(|start| text::number_with(&start.temperature, &["°C"]).ok());
        if let Some(start) = start {
            let change = (temperature - start).abs();
            // a billionth is forgiven, as the check of the record does
            if number(change) > room.temperature_change.value + 1e-9 {
                outside.push(format!(
                    "the temperature went from {start} °C to {temperature} °C, {change} K, and may change by {}",
                    room.temperature_change.words("K")
                ));
            }
        }
        outside
    }

    #[allow(clippy::too_many_arguments)]
    fn note_room(
        &mut self,
        moment: Moment,
        temperature: Decimal,
        humidity: Decimal,
        outside: Vec<String>,
        reason: Option<String>,
        now: Now,
        out: &mut Vec<Effect>,
    ) {
        let did = Did::Surroundings {
            moment: moment.into(),
            temperature: format!("{temperature} °C"),
            humidity: format!("{humidity} %"),
            outside,
            reason,
        };
        self.write(did, None, now, out);
    }

    /// On with a reason, which goes into the record.
    pub(super) fn go_on(
        &mut self,
        doubt: Doubt,
        outside: Vec<String>,
        reason: String,
        now: Now,
        out: &mut Vec<Effect>,
    ) {
        match doubt {
            Doubt::Room { moment, temperature, humidity } => {
                self.note_room(moment, temperature, humidity, outside, Some(reason), now, out);
            }
            Doubt::Zero { shown } => self.note_zero(shown, reason, now, out),
        }
    }

    pub(super) fn take_zero(&mut self, now: Now, out: &mut Vec<Effect>) {
        let step = self.plan.instrument.step;
        let at = self.record.step(&self.plan);
        let Some(readings) = self.plan.steps.get(at).and_then(Step::readings) else { return };
        let sign = self.plan.sign(readings.direction);
        let Some(level) = self.rest.level(step.value()) else {
            self.say(
                Tone::Caution,
                "The display does not stand still yet: hands off, then Enter.".to_owned(),
            );
            return;
        };
        let Some(shown) = digits::at_step(Torque::new(level * sign, step.unit()), step) else { return };
        if shown.digits().abs() > step.digits() {
            let outside = vec![format!("unloaded, it shows {shown}: more than one step of {step} from zero")];
            self.question = Some(Question::Doubt { doubt: Doubt::Zero { shown }, outside });
            return;
        }
        self.note_zero(shown, String::new(), now, out);
    }

    fn note_zero(&mut self, shown: Recorded, note: String, now: Now, out: &mut Vec<Effect>) {
        let at = self.record.step(&self.plan);
        let readings = self.plan.steps.get(at).and_then(Step::readings);
        let Some(readings) = readings.filter(|r| r.series == Series::Zero) else {
            return self.advance(out);
        };
        let reading = Taking {
            number: self.next_number(),
            step: at,
            series: readings.series.word().to_owned(),
            position: readings.position.clone(),
            direction: readings.direction,
            target: readings.target.to_string(),
            indicated: Some(readings.target.to_string()),
            reference: shown.to_string(),
            seconds: None,
            trace: None,
            note,
        };
        self.write(Did::Taken { reading }, None, now, out);
    }
}
