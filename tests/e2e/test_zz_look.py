import asyncio
from tests.e2e import samples
from tests.e2e.browser import *
from tests.e2e.shots import shoot
from fusion.outputs import *
async def ready(page): await page.wait_for_function("window.__pitchbend?.counts().received > 3")
async def test_look(open_page, feed):
    feed.hello = samples.hello(reps=[*samples.reps()[:-1], samples.rep(12, arm_level=samples.mark(-17.0, 108.0))])
    for n,vp in (("phone",PHONE),("tablet",TABLET),("side",PHONE_SIDEWAYS)):
        feed.now = samples.frame(shaft_pitch_deg=49.0)
        page = await open_page(viewport=vp); await ready(page); await feed.show(phase=Phase.TAKEAWAY, shaft_pitch_deg=22.0, shaft_elevation_deg=-15.0, bend_change_deg=-12.0, error_deg=-4.0, sounding=True); await asyncio.sleep(.3); await shoot(page, f"z-{n}-takeaway")
        await feed.show(**samples.INSIDE); await feed.show(shaft_pitch_deg=76.0);  await asyncio.sleep(.3); await shoot(page, f"z-{n}-arm"); await page.close()
