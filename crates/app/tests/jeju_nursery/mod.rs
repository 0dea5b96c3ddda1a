//! A mandarin nursery at Jeju on ten years of the daily record (source in `data/README.md`).

use std::fs;
use std::path::Path;

use app::{Protect, RunOptions};

use jiff::civil::{Date, date};

/// Its weather.
pub const WEATHER: &str = include_str!("../data/jeju_daily_2010_2019.csv");
/// The day the nursery is looked at.
pub const AS_OF: Date = date(2020, 1, 6);

/// Its tables.
const FILES: &[(&str, &str)] = &[
    (
        "nursery.toml",
        "name = \"Test nursery\"\nlatitude = 33.51\nlongitude = 126.53\nelevation_m = 20.5\n\
         time_zone = \"Asia/Seoul\"\ncurrency = \"KRW\"\n[planning]\nweeks = 200\n\
         routes = [\"field\", \"dormant\"]\n",
    ),
    (
        "places.csv",
        "place,kind,area_m2,warmer_c,set_point_c,vent_c\nseedbed,seedbed,30,3,8,34\n\
         row,rows,900,0,,\nyard,yard,150,0,,\n",
    ),
    (
        "crews.csv",
        "crew,hours_per_week,wage,hired_hours_per_week,hired_cost\nbudding,12,2000,4,3000\n\
         growing,40,1500,10,2200\n",
    ),
    (
        "lots.csv",
        "lot,stage,rootstock,variety,size,place,growing,ready,entered,step\n\
         S-1,seedling,trifoliate,,,seedbed,0,600,2019-04-02,\n\
         L-1,liner,trifoliate,,,row,500,0,2019-04-10,\n\
         D-1,budded,trifoliate,satsuma-owari,,row,0,300,2019-09-20,bud_row_dormant\n\
         F-1,finished,trifoliate,satsuma-owari,4L,yard,0,150,2019-10-01,\n",
    ),
    (
        "orders.csv",
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract\n\
         A,1,C-1,satsuma-owari,trifoliate,4L,100,2020-02-03,2020-03-02,2020-04-06,1300,true\n\
         A,2,C-1,satsuma-owari,trifoliate,4L,180,2021-02-01,2021-04-05,2021-06-07,1300,true\n\
         B,1,C-2,satsuma-owari,trifoliate,4L,200,2022-03-07,2022-05-02,2022-07-04,1300,false\n\
         B,2,C-2,satsuma-owari,trifoliate,4L,250,2023-03-06,2023-05-01,2023-07-03,1300,false\n\
         C,1,C-3,satsuma-okitsu,trifoliate,4L,80,2020-03-02,2020-04-06,2020-06-01,1400,true\n",
    ),
    (
        "mother_trees.csv",
        "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months\n\
         M-1,satsuma-owari,900,05-01/10-31,2019-10-01,clean,24\n\
         M-2,satsuma-okitsu,300,05-01/10-31,2019-10-01,clean,24\n",
    ),
    (
        "seed.csv",
        "batch,rootstock,seeds,available,use_by\nT-19,trifoliate,4000,2020-01-06,2020-06-30\n",
    ),
    (
        "prices.csv",
        "of,item,variety,rootstock,size,price,limit_per_week\nseed,,,trifoliate,,5,500\n",
    ),
];

/// Writes the nursery's tables and its weather into a folder.
pub fn write_to(folder: &Path) {
    for (name, text) in FILES.iter().chain([&("weather.csv", WEATHER)]) {
        fs::write(folder.join(name), text).expect("a file");
    }
}

/// How the nursery is planned in tests.
pub const fn options(protect: Protect) -> RunOptions {
    RunOptions {
        futures: 400,
        seed: 7,
        threads: 2,
        time_limit_s: None,
        weigh_all: false,
        protect,
    }
}
