//! A template of every file: its columns and an example row.

/// Name and content of each file's template.
pub const TEMPLATES: &[(&str, &str)] = &[
    ("nursery.toml", NURSERY),
    (
        "lots.csv",
        "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on,step,source\n\
         S-27-01,seedling,carrizo,,,seedbed-1,4200,0,2027-02-10,,,batch C-26\n\
         B-26-14,budded,carrizo,valencia,,row-1,380,0,2026-06-14,2026-06-14,bud_row,M-07\n",
    ),
    (
        "orders.csv",
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract,tolerance_percent,deposit,cancel_percent,minimum_load,grade,health_class,substitutes,target_percent\n\
         O-101,1,C-07,valencia,carrizo;swingle,4L,400,2028-03-01,2028-04-03,2028-05-29,1250,true,3,50000,2,100,first,certified,valencia/swingle/4L/1200;valencia/carrizo/10L/2400,\n",
    ),
    (
        "weather.csv",
        "date,tmin,tmax,rain_mm\n2026-01-01,4.2,14.8,0.0\n2026-01-02,5.1,15.6,2.4\n",
    ),
    (
        "forecast.csv",
        "date,tmin,tmax,rain_mm,spread_c\n2027-03-02,4.0,15.0,0.0,\n2027-03-03,5.5,16.5,3.0,\n",
    ),
    (
        "places.csv",
        "place,kind,area_m2,warmer_c,set_point_c,vent_c,excess_cost\n\
         seedbed-1,seedbed,40,3,10,35,2000\n\
         row-1,rows,2400,0,,,200\n\
         house-1,house,180,3,10,34,1500\n\
         yard-1,yard,500,0,,,800\n",
    ),
    (
        "crews.csv",
        "crew,from,until,hours_per_week,wage,hired_hours_per_week,hired_cost,may_do\n\
         budding,03-01,10-31,60,1900,20,2800,growing\n\
         budding,11-01,02-28,20,1900,0,2800,growing\n\
         growing,,,110,1600,40,2300,\n",
    ),
    (
        "mother_trees.csv",
        "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months,health_class,planted,vigour_percent,recovery_weeks\n\
         M-07,valencia,900,03-15/06-15;08-15/10-15,2026-09-20,clean,12,certified,2019-03-20,100,\n",
    ),
    (
        "seed.csv",
        "batch,rootstock,seeds,available,use_by,germination_percent,source,decline_percent_a_month\n\
         C-26,carrizo,9000,2026-12-01,2027-06-30,86,own trees,2\n",
    ),
    (
        "prices.csv",
        "of,item,variety,rootstock,size,price,limit_per_week,lead_weeks,delivered,limit_per_year,until\n\
         tree,,valencia,,4L,1250,,,,,\n\
         seed,,,carrizo,,4,2000,3,10-15/05-31,,\n\
         bud,,valencia,,,35,200,1,,,\n\
         liner,,,carrizo,,180,150,6,,,\n\
         material,pot 4L,,,,42,,,,,\n",
    ),
    (
        "demand.csv",
        "product,week,mean,spread\nvalencia/carrizo/4L,2028-W14,60,25\n",
    ),
    (
        "grades.csv",
        "grade,size,share_percent,source\nfirst,4L,85,own gradings 2024-2026\n",
    ),
    (
        "watering.csv",
        "place,soil,root_depth_m,pot_l,holds_percent,used_percent,cover_percent,sun_percent,rain_percent,rate_mm_h,emitter_l_h,reaches_percent,shelter_c\n\
         row-1,loam,0.4,,,,,,,,2,90,\n\
         yard-1,,,4,30,30,80,,,12,,70,1.5\n",
    ),
    ("watered.csv", "place,date,mm\nrow-1,2027-02-26,\n"),
    (
        "nights.csv",
        "date,evening_c,dew_point_c,low_c,clear\n2027-02-08,6.2,-1.5,-0.8,true\n",
    ),
    (
        "bark_notes.csv",
        "date,rootstock,place,bark\n2026-11-06,carrizo,row-1,tight\n",
    ),
    (
        "varieties.csv",
        "variety,name,botanical,group,family,growth,take,source,status\n\
         our-navel,Our early navel,Citrus sinensis,sweet orange,navel orange,1.0,1.0,own records 2020-2026,own\n",
    ),
    (
        "rootstocks.csv",
        "rootstock,name,botanical,growth,germination_percent,off_type_percent,seeds_per_litre,bark_mean_c_min,bark_tmax_c_max,bark_day_length_h_min,source,status\n\
         our-citrange,Our citrange,Citrus sinensis x Poncirus trifoliata,1.0,84,6,4200,15,38,,own records 2020-2026,own\n",
    ),
    (
        "traits.csv",
        "rootstock,trait,value,source,status\ncarrizo,cold,good,own trial 2019-2025,own\n",
    ),
    (
        "combinations.csv",
        "scion,rootstock,verdict,years,reason,source,status\n\
         lemon,calamondin,doubtful,,our block is still young,own trial since 2022,own\n",
    ),
    ("routes.toml", ROUTES),
];

const NURSERY: &str = r#"name = "Example nursery"
latitude = 37.4
longitude = -1.6
elevation_m = 120
time_zone = "Europe/Madrid"
currency = "EUR"        # money in files is in its minor unit: cents where it has them
units = "metric"        # or "us": the weather file is in degrees F
first_weekday = "monday"

[reading]               # how sheets and phones speak to your people
language = "en"         # or "es"
measures = "metric"     # or "us": feet, gallons, ounces, degrees F
decimal = "point"       # or "comma"
dates = "day_month"     # 3 Mar 2027; or "month_day", or "year_month"

[heat]                  # thresholds of citrus trees and fruit; calibrate by your own counts
base_c = 12.8
upper_c = 36.0

[planning]
weeks = 156
routes = []             # names of routes in use; empty: all
short_cost_share = 0.3  # cost of a plant short, of its price
late_cost_share = 0.02  # cost of a plant late, of its price and a week
end_value_share = 0.8   # worth of what stands at the end, of its cost
bark_share_min = 0.75   # plan work that needs bark where it slips in this share of years
slip_weeks = 4          # weeks a job may slip
store_weeks = 4         # weeks budsticks keep in the cold store
whole_weeks = 12        # first weeks in whole plants and whole jobs; 0 for none
most_jobs_per_week = 0  # in each of them; 0 for no limit
hired_block_weeks = 0   # hired people come for so many weeks in a row; 0: by the hour
spring_later_weeks = 0  # weeks that the coming spring is later than past ones were
change_cost = 2         # of a plant by which a near job differs from the accepted plan, in minor units; 0 for none

[water]
coastal = false             # near the sea a day's range says less of its sun
# pump_m3_h = 12.0          # at the head that your sprinklers need
# pump_hours = 10.0         # outside the hours of dear current, or of other users
# tank_m3 = 60.0            # that stands full in the morning
# water_ec = 0.9            # electrical conductivity, from a laboratory or a meter
root_ec = 1.7               # trees grow less above it; from memory of FAO-29 for oranges

[frost]                     # planning defaults from memory, of plants, not of fruit
wrapped_bud_c = -3.0        # replace them by what you have seen
soft_flush_c = -1.5         # new growth that has not hardened
seedling_c = -1.5           # in the seedbed
pot_root_c = -4.0           # pots freeze through, beds do not
hardened_c = -6.0           # of middling hardiness; hardier and weaker kinds differ from it
sprinkle_wet_bulb_c = 0.0   # wet bulb, not air: dry air needs an earlier start

[keeping]                               # from memory: replace them by what you have seen
seed_decline_percent_a_month = 2.0      # of what would come up, seed in cold storage
stored_buds_lost_percent_a_week = 3.0   # of the buds of sticks in the cold store
buds_per_stick = 8                      # of a stick of 20 to 25 cm
full_buds_after_years = 4.0             # age from which a mother tree gives its full number of buds

[orders]                        # from memory: replace them by what your customers did
cancel_percent_contract = 2.0   # odds that a line under contract is cancelled before it is due
cancel_percent_other = 8.0      # the same of any other line

[luck]                              # from memory: replace them by what your counts tell
seed_batch_sd = 0.25                # lots of one seed batch do well or badly together; 0: each for itself
cut_sd = 0.30                       # lots budded from one cut or mother tree
budder_sd = 0.20                    # lots budded by one budder
place_sd = 0.15                     # lots that stand at one place
total_loss_percent_a_year = 0.5     # odds that a place loses its plants in a year: hail, fire, a broken heater
total_loss_share_percent = 100.0    # share of its plants that it loses then

[remedies]                  # what you would do where a line falls short
rebud = true                # bud missed stocks again
resow = true                # sow again
buy_in = true               # buy plants in
substitutes = true          # send what the customer takes in its place
ship_late = true            # send late, up to the last day
"#;

const ROUTES: &str = r#"# A step of your own; give it the id of a shipped step to replace that one.
[[step]]
id = "our_pot_4L"
operation = "pot_up"
name = "Pot on to 4 L, our mix"
from = ["force_pot"]
makes = "finished"
size = "4L"
place = "yard"
area_m2 = 0.045
hours = [{ after_weeks = 0, crew = "growing", minutes = 1.0, job = "pot on" }]
supplies = [{ supply = "pot 4L", each = 1.0 }]
cost = 9.0
heat = { degree_days = 420.0, within_lot = 0.14, between_lots = 0.10 }
grows_with = ["rootstock", "variety"]
survival = { share = 0.94, rho = 0.02 }
over_age = { most = 52 }
source = "our counts 2022-2026"
status = "own"

[[route]]
id = "our_pot"
name = "Our pots"
steps = ["sow", "pot_up", "bud_pot", "force_pot", "our_pot_4L"]
source = "our way"
status = "own"
"#;

/// The template of a file.
pub fn template(name: &str) -> Option<&'static str> {
    TEMPLATES
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, text)| *text)
}
