/* Part of ink_machine.c, which includes it: what a device shows and holds, and what reactions do to it; no time passes
   here. MIT OR Apache-2.0. */

/* No design has so many. */
#define NO_SCREEN 0xFFFFFFFFu

/* Values as they are kept. */
#if INK_NARROW && INK_STATED
#define GET_VALUE(values, field) ink_get(values, field)
#define PUT_VALUE(values, field, number_now) ink_put(values, field, number_now)
#else
#define GET_VALUE(values, field) (values)[field]
#define PUT_VALUE(values, field, number_now) ((values)[field] = (number_now))
#endif

static int32_t value(const struct ink_machine *machine, uint32_t field)
{
    return field < FIELDS(machine->rules) ? GET_VALUE(machine->scene.values, field) : INK_UNKNOWN;
}

static void put(struct ink_machine *machine, uint32_t field, int32_t number_now)
{
    if (field < FIELDS(machine->rules)) {
        PUT_VALUE(machine->scene.values, field, number_now);
    }
}

static ink_screen front(const struct ink_scene *scene)
{
    return scene->box_count ? scene->boxes[scene->box_count - 1] : scene->screen;
}

#if INK_CHOICES
static uint32_t power_of_ten(uint32_t decimals)
{
    uint32_t one = 1;
    for (; decimals && one < 1000000000u; decimals--) {
        one *= 10;
    }
    return one;
}
#endif

/* Tests: a bit each for below, the same and above, and one for another field. */
enum { OF_FIELD = 8 };

static int holds_one(struct ink_machine *machine)
{
    uint32_t test = number(machine);
    int32_t mine = value(machine, number(machine)), other;
#if INK_COMPARES
    int64_t more = mine;
    if (test & OF_FIELD) {
        other = value(machine, number(machine));
        more *= number(machine);
        more -= (int64_t)other * number(machine);
    } else {
        other = signed_number(machine);
        more -= other;
    }
    test = test >> (more < 0 ? 0 : more ? 2 : 1) & 1u;
#else
    other = signed_number(machine);
    test = test >> (mine < other ? 0 : mine > other ? 2 : 1) & 1u;
#endif
    return test && mine != INK_UNKNOWN && other != INK_UNKNOWN;
}

/* Whether all conditions of a list hold. */
static int hold(struct ink_machine *machine)
{
    uint32_t end = list(machine);
    int holds = 1;
    while (machine->at < end) {
        holds &= holds_one(machine);
    }
    return holds;
}

#if INK_CHOICES
/* A field's value to the nearest whole number, as a choice tells the field and its decimals; 0 where it is not known. */
static int32_t whole(struct ink_machine *machine)
{
    int32_t now = value(machine, number(machine));
    uint32_t one = power_of_ten(number(machine)), size = now < 0 ? 0u - (uint32_t)now : (uint32_t)now;
    size = now == INK_UNKNOWN ? 0 : (size + one / 2) / one;
    return now < 0 ? -(int32_t)size : (int32_t)size;
}
#endif

#if INK_UNITS || INK_PICKS || INK_GOES_BY
/* Goes to the one of several lists that a field chooses, the nearest one there is; tells where all of them end. */
static INK_APART uint32_t choose(struct ink_machine *machine)
{
    int32_t chosen = whole(machine);
    uint32_t end = list(machine), found = end;
    while (machine->at < end) {
        uint32_t next = list(machine);
        if (found == end || chosen > 0) {
            chosen -= found != end;
            found = machine->at;
        }
        machine->at = next;
    }
    machine->at = found;
    return end;
}
#endif

/* What is added: the amount times the factor in thousandths, halves away from zero, in the digit named. */
#if INK_FASTER || INK_DIGITS
static INK_APART int64_t product(int32_t amount INK_TIMES_TAKEN, uint32_t digit)
{
    uint64_t size = amount < 0 ? 0u - (uint64_t)amount : (uint64_t)amount;
#if INK_FASTER
    if (times != ONCE) {
        size = size * times + 500u;
        size = divide(&size, 1000u);
    }
#endif
    for (; digit; digit--) {
        size *= 10u;
    }
    if (size >> 62) {
        size = (uint64_t)1 << 62;
    }
    return amount < 0 ? -(int64_t)size : (int64_t)size;
}
#else
#define product(amount, digit) ((void)(digit), (int64_t)(amount))
#endif

#if INK_UNITS
/* More steps than these lead from any value to an end. */
#define STEPS ((int64_t)1 << 32)

/* To the nearest whole number, halves away from zero. */
static INK_APART int64_t quotient(int64_t of, int64_t by)
{
    uint64_t size = (uint64_t)(of < 0 ? -of : of) + (uint64_t)by / 2;
    size = divide(&size, (uint64_t)by);
    return of < 0 ? -(int64_t)size : (int64_t)size;
}

static int64_t term(struct ink_machine *machine, uint32_t most)
{
    uint32_t one = number(machine) & most;
    return one ? (int64_t)one : 1;
}

/* Of a step: values are not in the unit of the moment. */
#define CONVERTED 0x80000000u

/* The value after a change in the unit of the moment; `step` is what one step of the unit is of it. */
static INK_APART int64_t moved(struct ink_machine *machine, int32_t now INK_TIMES_TAKEN, uint32_t digit, uint32_t *step)
{
    uint32_t end = choose(machine), own = number(machine);
    int64_t added = product(signed_number(machine) INK_TIMES(times), digit);
    int64_t multiply = term(machine, 0xFFFFFFFu), by = term(machine, 0x3FFFFFFFu), offset = signed_number(machine);
    machine->at = end;
    added = added > STEPS ? STEPS : added < -STEPS ? -STEPS : added;
    *step = by > multiply ? (uint32_t)by / (uint32_t)multiply : 1;
    if (own) {
        offset = 0;
    } else {
        *step |= CONVERTED;
        added += quotient(now * multiply + offset, by);
        now = 0;
    }
    return now + quotient(added * by - offset, multiply);
}
#else
#define CONVERTED 0u
#endif

#if INK_WITHIN
/* The highest position of what exists. */
static int32_t last_of(int32_t exist, uint32_t decimals, int32_t low, int32_t high)
{
    int64_t most = (int64_t)(exist > 1 ? exist - 1 : 0) * (int64_t)power_of_ten(decimals);
    most = most < high ? most : high;
    return most > low ? (int32_t)most : low;
}

static void keep_within(struct ink_machine *machine, uint32_t changed)
{
    uint32_t at = machine->at, end = list_at(machine, FACT(machine, WITHIN_AT));
    while (machine->at < end) {
        uint32_t before = machine->at, counting = number(machine), field, decimals;
        int32_t exist, low, high;
        machine->at = before;
        exist = whole(machine);
        field = number(machine);
        decimals = number(machine);
        low = signed_number(machine);
        high = last_of(exist, decimals, low, signed_number(machine));
        if (counting == changed && value(machine, field) > high) {
            put(machine, field, high);
        }
    }
    machine->at = at;
}
#else
#define keep_within(machine, changed) ((void)(changed))
#endif

/* A field takes a number that is no measurement. */
static void take(struct ink_machine *machine, uint32_t field, int32_t number_now)
{
    put(machine, field, number_now);
    keep_within(machine, field);
}

/* The box that opens because the value would leave its range, and 1; 0 for none. */
static INK_APART uint32_t change(struct ink_machine *machine INK_TIMES_TAKEN)
{
    uint32_t how = number(machine), field = number(machine), digit = 0, box = 0, step = 1;
    int32_t now = value(machine, field), low, high;
    int64_t wanted;
    uint32_t reach;
#if INK_DIGITS
    if ((how & 3u) == 2) {
        int32_t cursor = whole(machine);
        digit = cursor < 0 ? 0 : at_most((uint32_t)cursor, 9);
    }
#endif
    low = signed_number(machine);
    high = signed_number(machine);
    if (high < low) {
        high = low;
    }
#if INK_OPENS
    if (how & 8u) {
        box = number(machine) + 1u;
    }
#endif
#if INK_WITHIN
    if (how & 16u) {
        int32_t exist = whole(machine);
        high = last_of(exist, number(machine), low, high);
    }
#endif
    reach = (uint32_t)high - (uint32_t)low;
    if ((how & 3u) == 1) {
        wanted = signed_number(machine);
        how = 0;
        box = 0;
    } else {
#if INK_UNITS
        if (how & 32u) {
            wanted = moved(machine, now INK_TIMES(times), digit, &step);
        } else
#endif
        {
            wanted = now + product(signed_number(machine) INK_TIMES(times), digit);
        }
        if (now == INK_UNKNOWN) {
            keep_within(machine, field);
            return 0;
        }
    }
    wanted -= low;
    if (wanted < 0 || wanted > (int64_t)reach) {
        int below = wanted < 0;
        /* By how much it is outside; a conversion may miss an end by one. */
        uint64_t rest = (uint64_t)(below ? 0 - wanted : wanted - (int64_t)reach);
        wanted = below ? 0 : (int64_t)reach;
        if (rest > step >> 31) {
            if (box) {
                return box;
            }
            if (how & 4u) {
                uint64_t span = (uint64_t)reach + (step & ~CONVERTED);
                rest += below ? (uint64_t)0 - 1 : reach;
                (void)divide(&rest, span);
                rest = below ? span - 1 - rest : rest;
                wanted = rest < reach ? (int64_t)rest : (int64_t)reach;
            }
        }
    }
    take(machine, field, (int32_t)((uint32_t)low + (uint32_t)wanted));
    return 0;
}

#if INK_EDITS
/* Keeps the edited fields of what is in front, or sets them to what was kept. */
static void edits(struct ink_machine *machine, int restore)
{
    const INK_FLASH struct ink_rules *rules = machine->rules;
    uint32_t boxes = machine->scene.box_count, end, limit = boxes ? SAVED_BOX(rules) : SAVED_SCREEN(rules);
    int32_t *kept = CELLS(machine, SAVED_AT) + (boxes ? SAVED_SCREEN(rules) + (boxes - 1) * SAVED_BOX(rules) : 0);
    end = part(machine, front(&machine->scene), EDITS);
    for (; machine->at < end && limit; limit--, kept++) {
        uint32_t field = number(machine);
        if (restore) {
            put(machine, field, *kept);
        } else {
            *kept = value(machine, field);
        }
    }
}
#else
#define edits(machine, restore) ((void)0)
#endif

/* After what times count. */
enum { AFTER_ANY_KEY, AFTER_KEY, AFTER_SCREEN, AFTER_EVENT };

#if INK_TIMES_AFTER
/* Something happens after which times count. Whether any begins. */
static int start_recent(struct ink_machine *machine, uint32_t cause, uint32_t which)
{
    uint32_t end = list_at(machine, FACT(machine, RECENT_AT)), left = RECENT(machine->rules);
    int32_t *cells = CELLS(machine, RECENT_CELLS_AT);
    int begins = 0;
    for (; machine->at < end && left; left--, cells += 2) {
        uint32_t after = number(machine), of = number(machine);
        ink_wait lasts = wait(machine);
        uint32_t field = number(machine);
        if ((after == cause && of == which) || (after == AFTER_ANY_KEY && cause == AFTER_KEY)) {
            put(machine, field, 1);
            put_time(cells, later(machine->now, lasts ? lasts : 1));
            begins = 1;
        }
    }
    return begins;
}
#else
#define start_recent(machine, cause, which) ((void)(which), 0)
#endif

#if INK_FLOW_STATES
/* Sets the flow state that a fact names. */
static void recall(struct ink_machine *machine, uint32_t field, int32_t number_now)
{
    if (field) {
        put(machine, field - 1, number_now);
    }
}

static void show_front(struct ink_machine *machine)
{
    recall(machine, FACT(machine, FRONT), front(&machine->scene));
}
#else
#define show_front(machine) ((void)0)
#endif

/* What a reaction did. */
enum { DID = 1, ENTERED = 2, FRONTED = 4, ENDS = 8 };

static int show(struct ink_machine *machine, uint32_t screen)
{
#if INK_FLOW_STATES
    uint32_t event;
    recall(machine, FACT(machine, BEFORE), machine->scene.screen);
    for (event = 0; event < EVENTS(machine->rules); event++) {
        event_entry(machine, event);
        recall(machine, number(machine), 0);
    }
#endif
    machine->scene.box_count = 0;
#if INK_FROZEN
    machine->scene.frozen = 0;
#endif
    machine->scene.screen = (ink_screen)screen;
    show_front(machine);
    (void)start_recent(machine, AFTER_SCREEN, screen);
    edits(machine, 0);
    return ENTERED | FRONTED;
}

/* Enters a screen; the one shown is remembered, unless the way already leads there. */
static int go(struct ink_machine *machine, uint32_t screen)
{
    uint8_t at = 0;
    if (screen >= FACT(machine, SCREENS) || screen > INK_LAST_SCREEN) {
        return 0;
    }
    while (at < machine->back_count && machine->back[at] != screen) {
        at++;
    }
    if (at == machine->back_count && machine->scene.screen != screen) {
#if INK_BACK_FORGETS
        if (at == INK_BACK) {
            for (at = 1; at < INK_BACK; at++) {
                machine->back[at - 1] = machine->back[at];
            }
            at = INK_BACK - 1;
        }
#endif
        machine->back[at++] = machine->scene.screen;
    }
    machine->back_count = at;
    return show(machine, screen);
}

#if INK_BOXES
static int open_box(struct ink_machine *machine, uint32_t screen)
{
    struct ink_scene *scene = &machine->scene;
    uint8_t at;
#if INK_FROZEN
    uint8_t frozen = 0;
#endif
    for (at = 0; at < scene->box_count; at++) {
        if (scene->boxes[at] == screen) {
            return 0;
        }
#if INK_FROZEN
        frozen = (uint8_t)(frozen + (scene->frozen >> at & 1));
#endif
    }
    if (at == BOXES(machine->rules) || screen >= FACT(machine, SCREENS) || screen > INK_LAST_SCREEN) {
        return 0;
    }
#if INK_FROZEN
    if (screen_flags(machine, screen) & 2u) {
        uint32_t cell, block = BLOCK(machine->rules);
        int32_t *kept = scene->values + (frozen + 1u) * block;
        if (frozen == FROZEN(machine->rules)) {
            return 0;
        }
        for (cell = 0; cell < block; cell++) {
            kept[cell] = scene->values[cell];
        }
        scene->frozen = (uint8_t)(scene->frozen | 1u << at);
    }
#endif
    scene->boxes[at] = (ink_screen)screen;
    scene->box_count++;
    edits(machine, 0);
    show_front(machine);
    (void)start_recent(machine, AFTER_SCREEN, screen);
    return FRONTED;
}

static int close_box(struct ink_machine *machine)
{
    struct ink_scene *scene = &machine->scene;
    if (!scene->box_count) {
        return 0;
    }
    scene->box_count--;
#if INK_FROZEN
    scene->frozen = (uint8_t)(scene->frozen & ~(1u << scene->box_count));
#endif
    show_front(machine);
    return FRONTED;
}
#endif

static int go_back(struct ink_machine *machine)
{
#if INK_BOXES
    if (machine->scene.box_count) {
        return close_box(machine);
    }
#endif
    return machine->back_count ? show(machine, machine->back[--machine->back_count]) : 0;
}

/* Actions. */
enum { CHANGE, GO, GO_BY, BACK, OPEN, CLOSE, CANCEL, PICK, GO_BY_ROWS, NOTHING };

/* Does one action; with `stays` it changes fields and leads nowhere. */
static int act(struct ink_machine *machine INK_TIMES_TAKEN STAYS_TAKEN)
{
    uint32_t action = number(machine), screen = NO_SCREEN, place;
    int did = 0;
    switch (action) {
#if INK_PICKS
    case PICK:
        place = choose(machine);
        (void)number(machine);
        screen = change(machine INK_TIMES(times));
        machine->at = place;
        goto changed;
#endif
    case CHANGE:
        screen = change(machine INK_TIMES(times));
#if INK_PICKS
    changed:
#endif
        if (!screen--) {
            return 0;
        }
        did = ENDS;
        action = OPEN;
        break;
#if INK_GOES_BY
    case GO_BY_ROWS:
        if (whole(machine) < 1) {
            action = NOTHING;
        }
        /* falls through */
    case GO_BY:
        place = choose(machine);
        if (machine->at < place) {
            screen = number(machine);
        }
        machine->at = place;
        break;
#endif
    case GO:
    case OPEN:
        screen = number(machine);
        break;
    default:
        break;
    }
#if INK_RELEASES
    if (stays) {
        return did;
    }
#endif
    place = machine->at;
    switch (action) {
    case GO:
#if INK_GOES_BY
    case GO_BY:
    case GO_BY_ROWS:
#endif
        did |= go(machine, screen);
        break;
    case BACK:
        did |= go_back(machine);
        break;
#if INK_BOXES
    case OPEN:
        did |= open_box(machine, screen);
        break;
    case CLOSE:
        did |= close_box(machine);
        break;
#endif
    case CANCEL:
        edits(machine, 1);
        break;
    default:
        break;
    }
    machine->at = place;
    return did;
}

/* Carries out the reaction at a place; the factor in thousandths is for what changes add. */
static int react(struct ink_machine *machine, uint32_t reaction INK_TIMES_TAKEN STAYS_TAKEN)
{
    uint32_t end = reaction ? list_at(machine, reaction) : 0;
    if (!reaction) {
        return 0;
    }
    while (machine->at < end) {
        uint32_t next = list(machine);
        if (hold(machine)) {
            int did = DID;
            while (machine->at < next && !(did & ENDS)) {
                did |= act(machine INK_TIMES(times) STAYS(stays));
            }
            return did;
        }
        machine->at = next;
    }
    return 0;
}

static int happen(struct ink_machine *machine, uint32_t event)
{
    uint8_t at = machine->scene.box_count;
#if INK_FLOW_STATES
    event_entry(machine, event);
    recall(machine, number(machine), 1);
#endif
    (void)start_recent(machine, AFTER_EVENT, event);
    for (;; at--) {
        uint32_t end = part(machine, at ? machine->scene.boxes[at - 1] : machine->scene.screen, EVENT_RULES);
        while (machine->at < end) {
            uint32_t of = number(machine), reaction = number(machine);
            if (of == event) {
                return react(machine, reaction INK_TIMES(ONCE) STAYS(0));
            }
        }
        if (!at) {
            return 0;
        }
    }
}
