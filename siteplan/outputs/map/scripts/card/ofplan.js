/* What of the card stays the plan's while a what-if is shown: it is told, and grey. */
import { el } from '../base/core.js';

/** Flags that hang on the margin, and so on the target and the kit. */
const OF_THE_MARGIN = ['no_fit', 'margin_negative', 'margin_short', 'power_share', 'power_control_saturated', 'target_out_of_range', 'small_p'];
/** Flags that no satellite changes. */
const OF_THE_PLACE = ['coordinate_doubt', 'coordinate_mended', 'input_mended', 'outside_terrain', 'heavy_rain', 'compass_unreliable', 'magnetic_model_date'];

/** Whether another target, another kit or another place of the satellite is shown. */
export const isWhatIf = ({ estimate, angles }) => Boolean(estimate || angles);

/** Whether a flag may not hold in the what-if that is shown. */
export const isFlagStale = ({ estimate, angles }, code) =>
  Boolean((estimate && OF_THE_MARGIN.includes(code)) || (angles && !OF_THE_PLACE.includes(code)));

/** The class of what is the plan's alone, beside its own. */
export const ofPlan = (now, own = '') => (isWhatIf(now) ? `${own} of-plan`.trim() : own || null);

/** What is said of it; nothing where the plan itself is shown. */
export const saidOfPlan = (now) =>
  (isWhatIf(now) ? [el('p', { class: 'notes', text: 'For the site as it is planned, not for this what-if.' })] : []);
