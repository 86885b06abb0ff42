import asyncio
from tests.e2e import samples
from tests.e2e.browser import SCREENS, PHONE, TABLET, TABLET_UPRIGHT
from tests.e2e.shots import shoot
from server.wire import FitView, SourceView, PlayerView, FitMessage
from sensors.ids import *
from sensors.events import *
from fusion.outputs import *
from fusion.drills.drill import Quantity


async def ready(page):
    await page.wait_for_function("window.__pitchbend?.counts().received > 3")


async def test_look(open_page, feed):
    feed.hello = samples.hello(reps=samples.reps())
    page = await open_page(viewport=TABLET_UPRIGHT, color_scheme="dark")
    await ready(page)
    await feed.show(**samples.BOWED)
    await asyncio.sleep(0.3)
    await shoot(page, "a-tablet-dark-bowed")
    await page.close()
    feed.hello = samples.hello(
        reps=samples.reps(), player=PlayerView(name="Ivo Tarn", lead_side=Side.RIGHT, club="7-iron")
    )
    feed.now = samples.frame()
    page = await open_page(device_scale_factor=2)
    await ready(page)
    await asyncio.sleep(0.2)
    await shoot(page, "b-lefty-address")
    await feed.show(**samples.INSIDE)
    await feed.show(shaft_pitch_deg=42.0)
    await asyncio.sleep(0.3)
    await shoot(page, "b-lefty-inside")
    await feed.show(shaft_pitch_deg=None, pitch_doubt=Doubt.FORESHORTENED)
    await asyncio.sleep(0.3)
    await shoot(page, "c-endon")
    feed.now = None
    await page.wait_for_function("window.__pitchbend.status()==='stale'")
    await asyncio.sleep(0.2)
    await shoot(page, "d-stale")
    await page.close()
    feed.now = samples.frame()
    page = await open_page(cautions_read=False)
    await ready(page)
    await shoot(page, "e-first", full_page=True)
    await page.close()
    feed.hello = samples.hello(
        source=SourceView(kind="live", name="built-in radio", speed=1.0),
        fit=FitView(complete=False, taken=[Move.STILL]),
        sensors=[
            samples.sensor(Role.FOREARM),
            samples.sensor(
                Role.CLUB,
                state=LinkState.LOST,
                reason=LinkReason.DROPPED,
                rate_hz=0.0,
                battery_pct=None,
                advice="The club sensor dropped its link. Bring it within a few metres; it is being looked for.",
            ),
        ],
    )
    feed.now = samples.frame(
        doubt=Doubt.NOT_FITTED,
        bend_change_deg=None,
        shaft_pitch_deg=None,
        advice="The sensors are not fitted yet: make the four poses.",
    )
    for n, vp in (("phone", PHONE), ("tablet", TABLET)):
        page = await open_page(viewport=vp)
        await ready(page)
        await feed.send(
            FitMessage(
                move=Move.ARM_DOWN,
                state=FitState.REJECTED,
                reason=FitReason.MOVING,
                measured=9.0,
                limit=4.0,
                advice="You were still moving. Let the arm hang and breathe out, then tap again.",
                fit=FitView(complete=False, taken=[Move.STILL]),
            )
        )
        await asyncio.sleep(0.3)
        await shoot(page, f"f-fit-{n}", full_page=True)
        await page.close()
    feed.hello = samples.hello(
        drill=samples.drill(
            name="Shaft on its line",
            feel="Feel the butt of the club point at the ball when your lead arm is level.",
            quantity=Quantity.SHAFT_PITCH,
            phases=[Phase.ARM_LEVEL],
            low_deg=50.0,
            high_deg=62.0,
        ),
        reps=samples.reps()[:4],
    )
    feed.now = samples.frame()
    page = await open_page(device_scale_factor=2)
    await ready(page)
    await feed.show(**samples.BOWED)
    await feed.show(error_deg=-11.0, shaft_pitch_deg=39.0)
    await asyncio.sleep(0.3)
    await shoot(page, "g-pitch-drill")
    await page.close()
    await asyncio.sleep(0)
