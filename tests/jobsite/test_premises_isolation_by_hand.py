"""Isolation at small invented sites, each answer written out by hand. What the points part is common practice of the trade."""

from jobsite.premises.graph import BoardNode, BorrowedLink, CircuitNode, FeedEdge, Origin, SourceNode, SupplyGraph
from jobsite.premises.isolation import Isolation, Spot, StaysLive, Sure, Work, isolate
from jobsite.premises.isolation.words import tell

INTAKE = Origin("o", "Supply", 100, earthing="TN-C-S")
HOUSE = BoardNode("house", "House", switch="all")


def graph(boards=(), circuits=(), feeds=(), *, origins=(INTAKE,), **more) -> SupplyGraph:
    return SupplyGraph(origins, boards, feeds, circuits=circuits, **more)


def fed(child: str, by: str, **more) -> FeedEdge:
    """A feed by the circuit that is called as its board with a number behind: "house 3", or by the supply "o"."""
    if " " not in by:
        return FeedEdge(child, by, **more)
    return FeedEdge(child, None, by.partition(" ")[0], circuit=by, **more)


def way(id_: str, poles: int | None = 1, **more) -> CircuitNode:
    return CircuitNode(id_, id_.partition(" ")[0], f"way {id_.partition(' ')[2]}", poles=poles, **more)


def off(answer: Isolation) -> dict[str, tuple[str, ...]]:
    """The points, as "place id", with the reasons for each."""
    return {f"{point.switch.place} {point.switch.id}": point.why for point in answer.points}


def dead(answer: Isolation) -> list[str]:
    return sorted(f"{spot.kind} {spot.id}" for spot in answer.dead)


def live(answer: Isolation, reason: str) -> list[str]:
    """The path of each thing that may stay live for that reason."""
    return [" > ".join(spot.id for spot in item.path) for item in answer.live if item.reason == reason]


def said(answer: Isolation) -> list[tuple[str, str]]:
    return [(caution.kind, caution.about) for caution in answer.cautions]


# --- one circuit ------------------------------------------------------------------------------------------------------


def test_single_pole_device_with_earthed_neutral_isolates_the_line_and_says_so():
    answer = isolate(graph([HOUSE], [way("house 1"), way("house 2")], [fed("house", "o")]), Work("circuit", "house 1"))
    assert off(answer) == {"device house 1": ("own",)}
    assert dead(answer) == ["circuit house 1"]
    assert said(answer) == [("single-pole", "house 1")]
    assert live(answer, "supply-side") == ["house"]


def test_poles_that_are_not_recorded_count_as_single_and_a_device_that_is_not_is_called_out():
    site = graph([HOUSE], [way("house 1", None, has_device=False)], [fed("house", "o")])
    answer = isolate(site, Work("circuit", "house 1"))
    assert said(answer) == [("no-device", "house 1"), ("poles-not-recorded", "house 1")]
    [point] = tell(site, answer).points
    assert point.what.endswith(", device not recorded")
    assert "its device is not recorded: find it and see that it isolates; where it does not, switch off further up" in (
        point.more
    )


def test_a_circuit_that_nobody_verified_may_be_another_than_the_one_meant():
    site = graph(
        [HOUSE], [way("house 1", 2, name="“Cooker”", name_verified=False), way("house 2", 2)], [fed("house", "o")]
    )
    answer = isolate(site, Work("circuit", "house 1"))
    assert said(answer) == [("name-believed", "house 1")]
    assert tell(site, answer).cautions == (
        "Nobody has verified what House, way 1 (“Cooker”) supplies: what is worked on may hang on another circuit.",
    )
    assert said(isolate(site, Work("circuit", "house 2"))) == []


def test_main_switch_of_a_board_that_nobody_verified_is_relied_on_with_a_word():
    site = graph([BoardNode("hut", "Hut", name_verified=False, switch="all")], [way("hut 1", 2)], [fed("hut", "o")])
    answer = isolate(site, Work("inside", "hut"))
    assert off(answer) == {"main hut": ("back-feed",)}
    assert said(answer) == [("no-point", "o"), ("switch-believed", "hut")]
    assert "“Hut” is not verified: what its main switch disconnects is as somebody wrote it down." in (
        tell(site, answer).cautions
    )


def test_double_pole_device_needs_no_word():
    answer = isolate(graph([HOUSE], [way("house 1", 2)], [fed("house", "o")]), Work("circuit", "house 1"))
    assert (off(answer), said(answer)) == ({"device house 1": ("own",)}, [])


def test_three_phase_device_of_three_poles_leaves_the_neutral():
    site = graph(
        [HOUSE], [way("house 1", 3, three_phase=True), way("house 2", 4, three_phase=True)], [fed("house", "o")]
    )
    assert said(isolate(site, Work("circuit", "house 1"))) == [("not-all-live", "house 1")]
    assert said(isolate(site, Work("circuit", "house 2"))) == []


# --- TT outbuilding off a TN-C-S house --------------------------------------------------------------------------------


def outbuilding(switch="all", poles=1) -> SupplyGraph:
    barn = BoardNode("barn", "Barn", switch=switch, own_earthing="TT")
    circuits = [way("house 3", poles), way("barn 1"), way("barn 2")]
    return graph([HOUSE, barn], circuits, [fed("house", "o"), fed("barn", "house 3")])


def test_tt_outbuilding_needs_its_main_switch_beside_a_single_pole_device():
    answer = isolate(outbuilding(), Work("circuit", "barn 1"))
    assert off(answer) == {"device barn 1": ("own",), "main barn": ("neutral",)}
    assert dead(answer) == ["bus barn", "circuit barn 1", "circuit barn 2"]
    assert said(answer) == [("all-live", "barn"), ("single-pole", "barn 1")]


def test_tt_outbuilding_with_an_unknown_main_switch_goes_back_to_what_isolates_all():
    answer = isolate(outbuilding(switch="", poles=2), Work("circuit", "barn 1"))
    assert off(answer) == {"device barn 1": ("own",), "device house 3": ("neutral",)}
    assert said(answer) == [("all-live", "barn"), ("switch-not-known", "barn"), ("single-pole", "barn 1")]


def test_tt_outbuilding_where_only_the_house_switch_parts_the_neutral():
    answer = isolate(outbuilding(switch="control"), Work("circuit", "barn 1"))
    assert off(answer) == {"device barn 1": ("own",), "main house": ("neutral",)}
    assert ("control", "barn") in said(answer)


def test_tt_without_anything_that_parts_the_neutral_keeps_it_live():
    site = graph(
        [BoardNode("hut", "Hut")], [way("hut 1")], [fed("hut", "o")], origins=(Origin("o", "Supply", earthing="TT"),)
    )
    answer = isolate(site, Work("circuit", "hut 1"))
    assert off(answer) == {"device hut 1": ("own",)}
    assert dead(answer) == []
    assert live(answer, "neutral") == ["o > hut > hut > hut 1"]


def test_earthing_that_is_not_recorded_counts_as_tt():
    site = graph(
        [HOUSE], [way("house 1")], [fed("house", "o")], origins=(Origin("o", "Supply", earthing="earthing not known"),)
    )
    assert off(isolate(site, Work("circuit", "house 1"))) == {"device house 1": ("own",), "main house": ("neutral",)}


# --- the origin -------------------------------------------------------------------------------------------------------


def test_inside_the_first_board_the_tails_stay_live_and_only_the_network_isolates_them():
    answer = isolate(graph([HOUSE], [way("house 1")], [fed("house", "o")]), Work("inside", "house"))
    assert off(answer) == {"main house": ("back-feed",)}
    assert dead(answer) == ["bus house", "circuit house 1"]
    assert answer.no_point == ("o",)
    assert live(answer, "feed") == ["o > house"]
    assert said(answer) == [("no-point", "o")]


def test_before_the_first_board_there_is_no_point_of_the_customers():
    answer = isolate(graph([HOUSE], [], [fed("house", "o")]), Work("supply", "house"))
    assert (off(answer), dead(answer), answer.no_point) == ({}, [], ("o",))
    assert live(answer, "feed") == ["o > house"]


def test_an_isolator_of_the_customers_at_the_intake_is_the_point():
    origin = Origin("o", "Supply", earthing="TN-S", isolator="100 A isolator in the meter box", switch="all")
    answer = isolate(graph([HOUSE], [], [fed("house", "o")], origins=(origin,)), Work("supply", "house"))
    assert off(answer) == {"intake o": ("feed",)}
    assert (dead(answer), answer.no_point) == (["bus house", "in house"], ())


def test_contactor_as_main_switch_isolates_nothing():
    board = BoardNode("hall", "Hall", switch="control")
    answer = isolate(graph([board], [], [fed("hall", "o")]), Work("inside", "hall"))
    assert (off(answer), dead(answer)) == ({}, [])
    assert said(answer) == [("no-point", "o"), ("control", "hall")]


def test_board_of_unknown_feed_is_never_said_to_go_dead_at_its_supply_side():
    answer = isolate(graph([BoardNode("shed", "Shed", switch="all")]), Work("inside", "shed"))
    assert off(answer) == {"main shed": ("back-feed",)}
    assert dead(answer) == ["bus shed"]
    assert live(answer, "not-recorded") == ["shed"]
    assert said(answer) == [("not-recorded", "shed"), ("all-live", "shed")]


# --- several feeds ----------------------------------------------------------------------------------------------------


def farm(*feeds: FeedEdge, **more) -> SupplyGraph:
    boards = [HOUSE, BoardNode("dairy", "Dairy", switch="all"), BoardNode("plant", "Plant", switch="all")]
    circuits = [way("house 1"), way("house 2"), way("house 3"), way("dairy 1", load="milk cooling")]
    return graph(boards, [*circuits, *more.pop("circuits", ())], [fed("house", "o"), *feeds], **more)


def test_changeover_board_has_both_feeds_switched_off():
    site = farm(fed("dairy", "house 1"), fed("dairy", "house 2", kind="alternative"), fed("plant", "house 3"))
    answer = isolate(site, Work("inside", "dairy"))
    assert off(answer) == {"device house 1": ("feed",), "device house 2": ("alternative",)}
    assert dead(answer) == ["bus dairy", "circuit dairy 1", "circuit house 1", "circuit house 2", "in dairy"]
    assert said(answer) == [("single-pole", "house 1"), ("single-pole", "house 2"), ("changes-over", "dairy")]
    assert Spot("circuit", "dairy 1") in answer.loses


def test_work_on_one_feed_of_a_changeover_board_counts_the_other_as_feeding_back():
    """A changeover is not relied on to keep its two feeds apart."""
    site = farm(fed("dairy", "house 1"), fed("dairy", "house 2", kind="alternative"))
    answer = isolate(site, Work("circuit", "house 1"))
    assert off(answer) == {"device house 1": ("own",), "device house 2": ("alternative",)}


def test_every_candidate_counts_and_the_first_verified_point_upstream_is_named():
    site = farm(
        fed("plant", "house 3"),
        fed("dairy", "house 1", verified=False),
        fed("dairy", "plant 1", verified=False),
        circuits=[way("plant 1")],
    )
    answer = isolate(site, Work("supply", "dairy"))
    assert off(answer) == {"device house 1": ("candidate",), "device plant 1": ("candidate",)}
    assert answer.sure == (Sure("dairy", Spot("bus", "house")),)
    assert said(answer)[-1] == ("believed", "dairy")


def test_one_unverified_feed_on_the_way_is_a_point_and_a_doubt():
    """The feed of the feeder is believed too, so what is sure lies further up."""
    site = farm(
        fed("plant", "house 3", verified=False), fed("dairy", "plant 1", verified=False), circuits=[way("plant 1")]
    )
    answer = isolate(site, Work("inside", "dairy"))
    assert off(answer) == {"device plant 1": ("candidate",)}
    assert answer.sure == (Sure("dairy", Spot("bus", "house")),)
    assert isolate(site, Work("inside", "house")).sure == ()


def test_candidates_from_two_supplies_leave_no_sure_point():
    origins = (INTAKE, Origin("p", "Second supply", earthing="TN-C-S"))
    site = graph(
        [HOUSE, BoardNode("shed", "Shed"), BoardNode("mill", "Mill")],
        [way("house 1"), way("mill 1")],
        [
            fed("house", "o"),
            FeedEdge("mill", "p"),
            fed("shed", "house 1", verified=False),
            fed("shed", "mill 1", verified=False),
        ],
        origins=origins,
    )
    answer = isolate(site, Work("inside", "shed"))
    assert off(answer) == {"device house 1": ("candidate",), "device mill 1": ("candidate",)}
    assert answer.sure == ()


# --- second sources ---------------------------------------------------------------------------------------------------


def test_battery_backed_board_below_is_isolated_at_its_battery_and_its_loads_are_named():
    battery = SourceNode("s", "battery", "Battery", "dairy", supply_side="isolator beside it", wait_minutes=15)
    answer = isolate(farm(fed("dairy", "house 1"), sources=(battery,)), Work("inside", "house"))
    assert off(answer) == {"isolator s": ("source",), "main house": ("back-feed",)}
    assert {"in dairy", "bus dairy", "circuit dairy 1"} <= set(dead(answer))
    (own,) = [item for item in answer.live if item.reason == "own-side"]
    assert own == StaysLive("own-side", (Spot("source", "s"),), wait_minutes=15)
    assert Spot("circuit", "dairy 1") in answer.loses


def test_battery_without_a_recorded_isolator_keeps_its_board_live():
    battery = SourceNode("s", "battery", "Battery", "dairy")
    answer = isolate(farm(fed("dairy", "house 1"), sources=(battery,)), Work("circuit", "house 1"))
    assert off(answer) == {"device house 1": ("own",), "main dairy": ("back-feed",)}
    assert {"in dairy", "circuit house 1"} == set(dead(answer))
    assert live(answer, "source") == ["s > dairy"]
    assert said(answer)[-1] == ("no-isolator", "s")


def test_solar_on_a_circuit_is_a_point_and_its_own_side_stays_live():
    solar = SourceNode("s", "pv", "Solar", "house", circuit="house 2", supply_side="rotary isolator", wait_minutes=5)
    site = farm(sources=(solar,))
    on_its_circuit = isolate(site, Work("circuit", "house 2"))
    assert off(on_its_circuit) == {"device house 2": ("own",), "isolator s": ("source",)}
    assert live(on_its_circuit, "own-side") == ["s"]
    on_another = isolate(site, Work("circuit", "house 1"))
    assert off(on_another) == {"device house 1": ("own",)}
    assert live(on_another, "own-side") == []


def test_solar_without_a_recorded_isolator_is_kept_off_the_bars_by_its_way():
    solar = SourceNode("s", "pv", "Solar", "plant", circuit="plant 9")
    site = farm(fed("plant", "house 3"), sources=(solar,), circuits=[way("plant 9"), way("plant 1")])
    answer = isolate(site, Work("inside", "plant"))
    assert off(answer) == {"device house 3": ("feed",), "device plant 9": ("back-feed",)}
    assert dead(answer) == ["bus plant", "circuit house 3", "circuit plant 1", "in plant"]
    assert live(answer, "source") == ["s > plant 9"]


# --- links ------------------------------------------------------------------------------------------------------------


def linked(kind: str) -> SupplyGraph:
    boards = [HOUSE, BoardNode("shop", "Shop", switch="all"), BoardNode("flat", "Flat", switch="all")]
    circuits = [way("house 1"), way("house 2"), way("shop 3"), way("shop 4"), way("flat 5")]
    feeds = [fed("house", "o"), fed("shop", "house 1"), fed("flat", "house 2")]
    link = BorrowedLink("shop", "3", "flat", "5", kind, "shop 3", "flat 5")
    return graph(boards, circuits, feeds, links=(link,))


def test_borrowed_neutral_across_two_boards_has_both_ends_off():
    answer = isolate(linked("neutral"), Work("circuit", "shop 3"))
    assert off(answer) == {"device flat 5": ("other-end",), "device shop 3": ("own",)}
    assert dead(answer) == ["circuit flat 5", "circuit shop 3"]
    assert live(answer, "link") == ["flat 5 > shop 3"]


def test_borrowed_neutral_reaches_work_inside_its_board():
    answer = isolate(linked("neutral"), Work("inside", "shop"))
    assert off(answer) == {"device flat 5": ("other-end",), "device house 1": ("feed",)}
    assert live(answer, "link") == ["flat 5 > shop 3"]


def test_circuit_also_fed_from_elsewhere_has_both_devices_off():
    answer = isolate(linked("feed"), Work("circuit", "flat 5"))
    assert off(answer) == {"device flat 5": ("own",), "device shop 3": ("other-end",)}
    assert live(answer, "link") == ["shop 3 > flat 5"]


def test_neutral_of_a_lent_circuit_stays_live_where_its_other_end_cannot_be_switched_off():
    """A battery without an isolator at the far end keeps the shared neutral live."""
    site = linked("neutral")
    battery = SourceNode("s", "battery", "Battery", "flat", circuit="flat 5")
    site = graph(site.boards, site.circuits, site.feeds, links=site.links, sources=(battery,))
    answer = isolate(site, Work("circuit", "shop 3"))
    assert dead(answer) == []
    assert "flat 5 > shop 3" in live(answer, "link")
    assert live(answer, "source") == ["s > flat 5"]


def test_neutral_borrowed_from_a_supply_that_earths_none_needs_that_ones_switch_too():
    """Cut off from its own supply's earthed neutral, the circuit is still joined to the TT supply's by the other end."""
    barn, tt = BoardNode("barn", "Barn", switch="all"), Origin("t", "Barn supply", earthing="TT", switch="all")
    ways, feeds = [way("house 1", 2), way("barn 1")], [fed("house", "o"), fed("barn", "t")]
    shares = (BorrowedLink("house", "1", "barn", "1", "neutral", "house 1", "barn 1"),)
    answer = isolate(graph([HOUSE, barn], ways, feeds, origins=(INTAKE, tt), links=shares), Work("circuit", "house 1"))
    assert off(answer) == {"device house 1": ("own",), "device barn 1": ("other-end",), "main barn": ("neutral",)}
    barn = BoardNode("barn", "Barn", switch="none")
    bare = Origin("t", "Barn supply", earthing="TT")
    answer = isolate(
        graph([HOUSE, barn], ways, feeds, origins=(INTAKE, bare), links=shares), Work("circuit", "house 1")
    )
    assert dead(answer) == []
    assert live(answer, "neutral") == ["t > barn > barn > barn 1 > house 1"]


# --- several at once, and who must be warned --------------------------------------------------------------------------


def test_work_on_several_things_at_once_has_all_their_points():
    works = [Work("circuit", "house 1"), Work("supply", "dairy")]
    answer = isolate(farm(fed("dairy", "house 3"), fed("plant", "house 2")), *works)
    assert off(answer) == {"device house 1": ("own",), "device house 3": ("feed",)}
    assert answer.works == tuple(works)


def test_what_may_lose_power_is_all_below_the_points():
    site = farm(fed("dairy", "house 1"), fed("plant", "house 2", verified=False), circuits=[way("plant 1")])
    at_one_way = isolate(site, Work("circuit", "house 2"))
    assert {spot.id for spot in at_one_way.loses} == {"house 2", "plant", "plant 1"}
    everywhere = isolate(site, Work("inside", "house"))
    assert {Spot("circuit", "dairy 1"), Spot("circuit", "plant 1")} <= everywhere.loses
